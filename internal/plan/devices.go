package plan

import (
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// exposure turns the cameras where the faces of most places are off in the same way:
// then it is not the lamps.
func (o *offers) exposure(f *finding.Finding, add adder) {
	room := o.state.Show.Room
	if f.Amount == nil || f.Amount.Unit != "stops" || nameOf(f, "place") == "" || room == nil {
		return
	}
	var stops []float64
	places := map[string]bool{}
	for i := range o.order {
		if other := &o.order[i]; other.Rule == f.Rule && other.Amount != nil {
			stops = append(stops, other.Amount.Value)
			places[nameOf(other, "place")] = true
		}
	}
	const several = 3 // places: one or two may be lit wrongly (common practice, no source)
	if len(places) < several {
		return
	}
	slices.Sort(stops)
	by := math.Abs(stops[len(stops)/2])
	if strings.HasSuffix(f.Rule, "-high") {
		by = -by
	}
	var edits []source.Edit
	for _, c := range room.Cameras {
		const usual = 5.6 // f-number; a lens that is closed further has been closed (common practice, no source)
		if by > 0 && c.ApertureF != nil && *c.ApertureF > usual {
			edits = append(edits, source.Edit{At: c.At, Field: "aperture_f", Value: nominalF(*c.ApertureF * math.Exp2(-by/2))})
			continue
		}
		if c.SensitivityISO != nil {
			third := math.Round(3*(math.Log2(*c.SensitivityISO)+by)) / 3 // cameras are set in thirds of a stop
			edits = append(edits, source.Edit{At: c.At, Field: "sensitivity_iso", Value: nominal(math.Exp2(third))})
		}
	}
	add("Faces have the brightness that the cameras are set for.", edits...)
}

// unlikeCameras gives each camera the settings of the others, one by one and then all
// that differ; where one has a shutter that nobody uses, a usual one.
func (o *offers) unlikeCameras(f *finding.Finding, add adder) {
	room := o.state.Show.Room
	if room == nil {
		return
	}
	const effect = "All cameras see the same picture."
	var shutters []source.Edit
	for i, camera := range room.Cameras {
		others := slices.Concat(room.Cameras[:i], room.Cameras[i+1:])
		var all []source.Edit
		for _, field := range schema.AlikeFields(schema.OfCamera) {
			of := func(c *schema.Camera) *float64 { return field.Number(c) }
			if common, ok := inCommon(others, of); ok && differs(of(camera), common) {
				edit := source.Edit{At: camera.At, Field: field.Key, Value: common}
				all = append(all, edit)
				add(effect, edit)
			}
		}
		if len(all) > 1 {
			add(effect, all...)
		}
		shutters = append(shutters, o.usualShutter(camera)...)
	}
	if f.Rule == "camera/banding" {
		add("The picture has no bands, and faces keep their brightness.", shutters...)
	}
}

// usualShutter opens a shutter for half of each frame, as is usual, and takes what that
// gains off the sensitivity.
func (o *offers) usualShutter(c *schema.Camera) []source.Edit {
	if c.ShutterS == nil || c.FrameRateHz == nil || *c.FrameRateHz <= 0 || *c.ShutterS <= 0 {
		return nil
	}
	usual := 1 / (2 * *c.FrameRateHz)
	if *c.ShutterS >= 0.9*usual {
		return nil
	}
	edits := []source.Edit{{At: c.At, Field: "shutter_s", Value: usual}}
	if c.SensitivityISO != nil {
		edits = append(edits, source.Edit{At: c.At, Field: "sensitivity_iso", Value: nominal(*c.SensitivityISO * *c.ShutterS / usual)})
	}
	return edits
}

// unlikeOtherCues gives a screen the drive that it has in most other cues.
func (o *offers) unlikeOtherCues(f *finding.Finding, add adder) {
	screen := nameOf(f, "screen")
	if screen == "" {
		return
	}
	faulty := map[int]bool{}
	for _, look := range o.looksOf(f.Identity()) {
		faulty[look] = true
	}
	count := map[float64]int{}
	usual, most := 0.0, 0
	for i := range o.state.Looks {
		if drive, ok := o.state.Looks[i].Drives[screen]; ok && !faulty[i] && drive.DrivePct != nil && *drive.DrivePct > 0 {
			count[*drive.DrivePct]++
			if n := count[*drive.DrivePct]; n > most {
				usual, most = *drive.DrivePct, n
			}
		}
	}
	if most < 2 {
		return
	}
	var edits []source.Edit
	for i := range o.state.Looks {
		for _, cue := range o.state.Looks[i].Parts {
			for _, drive := range cue.Screens {
				if faulty[i] && drive.Screen == screen && drive.DrivePct != nil && *drive.DrivePct != usual {
					edits = append(edits, source.Edit{At: drive.At, Field: "drive_pct", Value: usual})
				}
			}
		}
	}
	add("The screen is as bright as in the other cues.", edits...)
}

// oneDrive gives a screen that is too bright in several cues one drive for the whole
// evening: the lowest that any of them asks for.
func (o *offers) oneDrive(f *finding.Finding, add adder) {
	screen := nameOf(f, "screen")
	lowest, asked := math.Inf(1), 0
	for i := range o.order {
		other := &o.order[i]
		if other.Rule != f.Rule || nameOf(other, "screen") != screen {
			continue
		}
		asked++
		for _, remedy := range other.Remedies {
			for _, e := range remedy.Edits {
				if drive, ok := e.Value.(float64); ok && e.Field == "drive_pct" {
					lowest = min(lowest, drive)
				}
			}
		}
	}
	if asked < 2 || math.IsInf(lowest, 1) {
		return
	}
	var edits []source.Edit
	for _, cue := range o.state.Show.Cues {
		for _, drive := range cue.Screens {
			if drive.Screen == screen && drive.DrivePct != nil && *drive.DrivePct > lowest {
				edits = append(edits, source.Edit{At: drive.At, Field: "drive_pct", Value: lowest})
			}
		}
	}
	add("The screen and the faces before it fit into one picture all evening.", edits...)
}

// machines are the fixtures that make haze.
func (o *offers) machines() (list []*schema.Fixture) {
	for _, f := range o.state.Show.Patch {
		if t := o.typeOf(f); t != nil && t.Machine != nil {
			list = append(list, f)
		}
	}
	return list
}

// hazeOff stops the haze with the part of the evening that has the last beams, or in one
// of its cues, so that the air is clear when somebody speaks.
func (o *offers) hazeOff(f *finding.Finding, add adder) {
	looks := o.faulty(f)
	if len(looks) == 0 {
		return
	}
	talk := looks[0]
	last := -1 // with beams, before that
	for i := range talk {
		for _, lamp := range o.state.Show.Patch {
			if lamp.Purpose == "beam" && o.level(i, lamp.Channel) > 0 {
				last = i
			}
		}
	}
	from := last
	for from > 0 && o.state.Looks[from-1].Segment == o.state.Looks[last].Segment {
		from--
	}
	for k := max(0, from); k <= last+1 && k <= talk; k++ {
		var edits []source.Edit
		for _, machine := range o.machines() {
			for i := k; i <= looks[len(looks)-1]; i++ {
				if level := o.level(i, machine.Channel); level > 0 && (i == k || o.tells(i, machine.Channel, tracking.LevelBy)) {
					edits = append(edits, o.setLevel(i, machine.Channel, 0))
				}
			}
		}
		add("The haze stops with the last beams, and the air is clear in the talk.", edits...)
	}
}

// lessHaze turns all haze machines down by what there is too much; haze in the air grows
// with what the machines put out.
func (o *offers) lessHaze(f *finding.Finding, add adder) {
	if f.Amount == nil || f.Amount.Value <= 0 || len(f.Limits) == 0 || f.Limits[0].Num == nil {
		return
	}
	const under = 0.9 // of the limit
	factor := under * *f.Limits[0].Num / f.Amount.Value
	if factor >= 1 {
		return
	}
	var edits []source.Edit
	for _, machine := range o.machines() {
		for i := range o.state.Looks {
			if level := o.level(i, machine.Channel); level > 0 && o.tells(i, machine.Channel, tracking.LevelBy) {
				edits = append(edits, o.setLevel(i, machine.Channel, max(1, math.Floor(level*factor))))
			}
		}
	}
	add("There is less haze all evening, and the air is clear in time.", edits...)
}
