package facts

import (
	"fmt"
	"math"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// Camera is a camera of the room, held against the main one.
type Camera struct {
	unknowns
	camera *schema.Camera

	Name          string   `expr:"name"`                 // its name
	Role          string   `expr:"role"`                 // main, second, roaming, phone, or ""
	Meant         []string `expr:"meant"`                // what every segment of the running order means for every place, as words of the vocabulary
	AutoWhite     bool     `expr:"auto_white"`           // whether it sets its white itself
	AutoExposure  bool     `expr:"auto_exposure"`        // whether it sets its exposure itself
	IsMain        bool     `expr:"is_main"`              // whether it is the main camera, or the first where none is named
	Main          string   `expr:"main"`                 // the camera that it is held against
	SameMake      bool     `expr:"is_of_the_same_make"`  // whether both are known to be of one make
	ShowsOthers   bool     `expr:"shows_others"`         // whether it and the main camera stand and look where they show nobody in common
	WhiteK        *float64 `expr:"white_k"`              // the white that it is set to
	MainK         *float64 `expr:"main_white_k"`         // the white that the main camera is set to
	WhiteApart    *float64 `expr:"white_apart_mired"`    // how far the two are apart; unknown where one of them sets its white itself
	Comparable    *bool    `expr:"white_is_comparable"`  // true where both cameras mean the same by a number of kelvin, as those of one make do; else unknown, unless both were measured
	ExposureApart *float64 `expr:"exposure_apart_stops"` // how much more light the one is set for than the other; unknown where one of them sets its exposure itself
}

func newCamera(camera *schema.Camera) *Camera {
	is := func(b *bool) bool { return b != nil && *b }
	return &Camera{
		camera: camera, Name: camera.Name, Role: camera.Role, AutoWhite: is(camera.AutoWhite), AutoExposure: is(camera.AutoExposure),
		WhiteK: camera.WhiteK,
	}
}

// Names returns the camera.
func (c *Camera) Names() []Name { return []Name{{"camera", c.Name}} }

// Cue returns nothing: what a camera is set to is so in all cues.
func (c *Camera) Cue() string { return "" }

// Ref returns where the camera stands in the room.
func (c *Camera) Ref() source.Ref { return c.camera.At }

// Edits changes a field of the camera.
func (c *Camera) Edits(field string, value any) []source.Edit {
	return []source.Edit{{At: c.camera.At, Field: field, Value: value}}
}

// measureCameras holds the cameras of the room against the main one.
func measureCameras(r *stage.Rig) []*Camera {
	show := r.Show
	if show.Room == nil {
		return nil
	}
	var list []*Camera
	main := 0
	for i, camera := range show.Room.Cameras {
		list = append(list, newCamera(camera))
		list[i].Meant = meantThroughout(show.Order)
		if camera.Role == "main" && list[main].Role != "main" {
			main = i
		}
	}
	for i, c := range list {
		c.ShowsOthers = i != main && r.Room != nil && !r.Room.Share(c.camera, list[main].camera)
		c.compare(list[main], i == main)
	}
	return list
}

func (c *Camera) compare(main *Camera, isMain bool) {
	c.IsMain, c.Main, c.MainK = isMain, main.Name, main.WhiteK
	if c.WhiteK == nil {
		c.lacks("white_k", fmt.Sprintf("the white balance of the camera %q", c.Name))
	}
	if c.MainK == nil {
		c.lacks("main_white_k", fmt.Sprintf("the white balance of the camera %q", main.Name))
	}
	c.SameMake = c.camera.Make != "" && c.camera.Make == main.camera.Make
	if measured := func(c *Camera) bool { return c.camera.Known.Of("white_k").Word == "measured" }; isMain ||
		c.camera.Make == "" || main.camera.Make == "" || c.SameMake || measured(c) && measured(main) {
		c.Comparable = new(true)
	} else {
		c.lacks("white_is_comparable", fmt.Sprintf("the white of the cameras %q and %q, measured on one grey card: equal numbers of different makes prove nothing", c.Name, main.Name))
	}
	switch {
	case isMain:
		c.WhiteApart = new(0.0)
	case c.AutoWhite || main.AutoWhite:
		c.lacks("white_apart_mired", fmt.Sprintf("a white set by hand on the camera %q, which finds its own", c.whoever(main, func(c *Camera) bool { return c.AutoWhite })))
	case !stage.IsWhite(c.WhiteK), !stage.IsWhite(c.MainK):
		for _, camera := range []*Camera{c, main} {
			if !stage.IsWhite(camera.WhiteK) {
				c.lacks("white_apart_mired", fmt.Sprintf("the white balance of the camera %q", camera.Name))
			}
		}
	default:
		c.WhiteApart = new(stage.MiredApart(*c.WhiteK, *c.MainK))
	}
	switch {
	case isMain:
		c.ExposureApart = new(0.0)
		return
	case c.AutoExposure || main.AutoExposure:
		c.lacks("exposure_apart_stops", fmt.Sprintf("an exposure set by hand on the camera %q, which finds its own", c.whoever(main, func(c *Camera) bool { return c.AutoExposure })))
		return
	}
	mine, lack := stage.WantedLux(c.camera)
	others, lackToo := stage.WantedLux(main.camera)
	if c.lacks("exposure_apart_stops", lack, lackToo); lack == "" && lackToo == "" {
		c.ExposureApart = new(math.Abs(math.Log2(mine) - math.Log2(others)))
	}
}

// whoever names the one of two cameras of which something is so.
func (c *Camera) whoever(other *Camera, so func(*Camera) bool) string {
	if so(c) {
		return c.Name
	}
	return other.Name
}
