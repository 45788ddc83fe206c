package facts

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// Screen is a surface that shows pictures: an emissive wall or a projection.
type Screen struct {
	unknowns
	surface *schema.Surface

	ScreenName string   `expr:"name"`           // its name
	Kind       string   `expr:"kind"`           // emissive or projection
	WhiteK     *float64 `expr:"white_k"`        // the white it is set to
	Camera     string   `expr:"camera"`         // the camera whose white is farthest from that
	CameraK    *float64 `expr:"camera_k"`       // the white of that camera
	Apart      *float64 `expr:"camera_mired"`   // the difference between the two
	CommonK    *float64 `expr:"camera_white_k"` // the white that all cameras are set to, if they agree
}

// Names returns the screen.
func (s *Screen) Names() []Name { return []Name{{"screen", s.ScreenName}} }

// Cue returns "": the white of a screen shows in no cue.
func (s *Screen) Cue() string { return "" }

// Ref returns where the surface stands.
func (s *Screen) Ref() source.Ref { return s.surface.At }

// Edits changes a field of the surface.
func (s *Screen) Edits(field string, value any) []source.Edit {
	return []source.Edit{{At: s.surface.At, Field: field, Value: value}}
}

func measureScreens(r *stage.Rig) []*Screen {
	if r.Show.Room == nil {
		return nil
	}
	var screens []*Screen
	for _, raw := range r.Show.Room.Surfaces {
		if raw.Kind != "emissive" && raw.Kind != "projection" {
			continue
		}
		s := &Screen{surface: raw, ScreenName: raw.Name, Kind: raw.Kind, WhiteK: raw.WhiteK}
		s.measureWhite(r)
		screens = append(screens, s)
	}
	return screens
}

func (s *Screen) measureWhite(r *stage.Rig) {
	if common, ok := r.CameraWhite(r.Room.PastSurface(s.surface)); ok {
		s.CommonK = &common
	} else {
		s.lacks("camera_white_k", "one white balance that all cameras share")
	}
	lack := func(phrase string) {
		s.lacks("camera_mired", phrase)
		s.lacks("camera_k", phrase)
	}
	if !stage.IsWhite(s.WhiteK) {
		s.WhiteK = nil
		s.lacks("white_k", fmt.Sprintf("the white of the screen %q", s.ScreenName))
		lack(fmt.Sprintf("the white of the screen %q", s.ScreenName))
	}
	if len(r.Show.Room.Cameras) == 0 {
		lack("the cameras of the room, with the white balance of each")
	}
	cameras, wander := r.CamerasSet(r.Room.PastSurface(s.surface))
	for _, camera := range cameras {
		if !stage.IsWhite(camera.WhiteK) {
			lack(fmt.Sprintf("the white balance of the camera %q", camera.Name))
		} else if s.WhiteK != nil {
			if apart := stage.MiredApart(*s.WhiteK, *camera.WhiteK); s.Apart == nil || apart > *s.Apart {
				s.Apart, s.CameraK, s.Camera = &apart, camera.WhiteK, camera.Name
			}
		}
	}
	if len(s.Why("camera_mired")) > 0 {
		s.Apart, s.CameraK = nil, nil
	} else if wander {
		s.rests("camera_mired", finding.Basis{Known: finding.Inferred, Rests: []string{wandering(s.Camera)}})
	}
}
