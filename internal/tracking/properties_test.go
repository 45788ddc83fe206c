package tracking

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

const mostChannels = 8

// saidOf lists the slots of which a look's cue says anything.
func saidOf(look *Look) (slots []int) {
	for slot := range look.Slots() {
		if look.Says(slot) {
			slots = append(slots, slot)
		}
	}
	return slots
}

// drawShow draws a small show with everything that tracking looks at.
func drawShow(t *rapid.T) *schema.Show {
	show := &schema.Show{Groups: map[string]string{"front": "1-3", "odd": "1,3,5,7"}}
	for channel := 1; channel <= mostChannels; channel++ {
		show.Patch = append(show.Patch, &schema.Fixture{Channel: channel})
	}
	numbers := rapid.SliceOfNDistinct(rapid.IntRange(0, 60), 1, 8, rapid.ID).Draw(t, "numbers")
	for _, number := range numbers {
		cue := &schema.Cue{
			Number:   schema.CueNumber(number * 2_500), // 0, 0.25, 0.5...
			Tracking: rapid.SampledFrom([]string{"", "", "", "carry", "restate", "release"}).Draw(t, "tracking"),
			Segment:  rapid.SampledFrom([]string{"", "song", "talk", "nowhere"}).Draw(t, "segment"),
		}
		for range rapid.IntRange(0, 5).Draw(t, "settings") {
			cue.Set = append(cue.Set, drawSetting(t))
		}
		for range rapid.IntRange(0, 2).Draw(t, "screens") {
			drive := &schema.Drive{Screen: rapid.SampledFrom([]string{"wall", "side"}).Draw(t, "screen")}
			drive.DrivePct = maybe(t, "drive", rapid.Float64Range(0, 100))
			if rapid.Bool().Draw(t, "has palette") {
				drive.Palette = []string{"#102030"}
			}
			cue.Screens = append(cue.Screens, drive)
		}
		show.Cues = append(show.Cues, cue)
	}
	start := show.Cues[0].Number
	show.Order = []*schema.Segment{{Name: "song", StartCue: &start}, {Name: "talk"}}
	return show
}

func maybe[T any](t *rapid.T, label string, g *rapid.Generator[T]) *T {
	if !rapid.Bool().Draw(t, "has "+label) {
		return nil
	}
	value := g.Draw(t, label)
	return &value
}

func drawSetting(t *rapid.T) *schema.Setting {
	s := &schema.Setting{Told: new(schema.Told), Channels: rapid.OneOf(
		rapid.SampledFrom([]string{"all", "front", "odd", "front, 8"}),
		rapid.Map(drawChannels(), func(list []int) string {
			return strings.Trim(strings.Join(strings.Fields(fmt.Sprint(list)), ","), "[]")
		}),
	).Draw(t, "channels")}
	if level := maybe(t, "level", rapid.IntRange(0, 100)); level != nil {
		value := schema.Level(*level)
		s.Level = &value
	}
	switch rapid.IntRange(0, 7).Draw(t, "colour") {
	case 0:
		s.WhiteK = maybe(t, "white", rapid.Float64Range(2000, 9000))
	case 1:
		s.XY = []float64{0.3, 0.3}
	case 2:
		s.Mix = rapid.MapOf(rapid.SampledFrom([]string{"red", "green", "blue"}), rapid.Float64Range(0, 100)).Draw(t, "mix")
	case 4:
		s.MixPart = rapid.MapOf(rapid.SampledFrom([]string{"red", "green", "blue"}), rapid.Float64Range(0, 100)).Draw(t, "part of a mix")
	case 3:
		s.HueDeg, s.SaturationPct = maybe(t, "hue", rapid.Float64Range(0, 359)), maybe(t, "saturation", rapid.Float64Range(0, 100))
	}
	switch rapid.IntRange(0, 7).Draw(t, "rest") {
	case 0:
		s.Aim = &schema.Aim{Name: rapid.SampledFrom([]string{"pulpit", "lectern"}).Draw(t, "aim")}
	case 1:
		s.ZoomDeg = maybe(t, "zoom", rapid.Float64Range(1, 90))
	case 2:
		s.Pattern = rapid.SampledFrom([]string{"leaves", "none"}).Draw(t, "pattern")
	case 3:
		s.Wheel = rapid.SampledFrom([]string{"amber", "none"}).Draw(t, "wheel")
	case 4:
		s.Effect = &schema.Effect{Kind: rapid.SampledFrom([]string{"chase", "pulse", "none"}).Draw(t, "effect")}
	case 5:
		s.StrobeHz = maybe(t, "strobe", rapid.Float64Range(0, 20))
	}
	return s
}

func drawChannels() *rapid.Generator[[]int] {
	return rapid.SliceOfNDistinct(rapid.IntRange(1, mostChannels), 1, mostChannels, rapid.ID)
}

// picture is what a show does, without who said so.
type picture struct {
	Number  schema.CueNumber
	Segment string
	States  [mostChannels]plainState
	Drives  map[string]schema.Drive
}

type plainState struct {
	Level  float64
	Colour *Colour
	Rest   *Rest
}

func pictures(looks []Look) []picture {
	var list []picture
	for i := range looks {
		look := &looks[i]
		p := picture{Number: look.Number, Segment: "none", Drives: map[string]schema.Drive{}}
		if look.Segment != nil {
			p.Segment = look.Segment.Name
		}
		for channel := 1; channel <= mostChannels; channel++ {
			state := look.State(channel)
			plain := plainState{Level: state.Level}
			plain.Colour, plain.Rest = state.Colour, state.Rest
			p.States[channel-1] = plain
		}
		for _, drive := range look.Drives {
			p.Drives[drive.Screen] = drive.Drive
		}
		list = append(list, p)
	}
	return list
}

// onlyLevels is the part of the pictures that levels decide.
func onlyLevels(looks []Look) []string {
	var list []string
	for _, p := range pictures(looks) {
		line := p.Number.String()
		for _, state := range p.States {
			line += fmt.Sprint(" ", state.Level)
		}
		list = append(list, line)
	}
	return list
}

func same(t *rapid.T, what string, want, got any) {
	t.Helper()
	if diff := cmp.Diff(want, got, cmpopts.EquateComparable(source.Ref{})); diff != "" {
		t.Fatalf("%s (-before +after):\n%s", what, diff)
	}
}

// copyOf is a show with the same sections and a cue list of its own.
func copyOf(show *schema.Show, cues []*schema.Cue) *schema.Show {
	return &schema.Show{Patch: show.Patch, Groups: show.Groups, Order: show.Order, Cues: cues}
}

func TestMakingTrackedLevelsExplicitChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := drawShow(t)
		looks := Resolve(show)
		var cues []*schema.Cue
		for i := range looks {
			cue := *looks[i].Cue()
			for channel := 1; channel <= mostChannels; channel++ {
				level := schema.Level(looks[i].State(channel).Level)
				cue.Set = append(slices.Clip(cue.Set), &schema.Setting{Channels: fmt.Sprint(channel), Told: &schema.Told{Level: &level}})
			}
			cues = append(cues, &cue)
		}
		same(t, "every level written into every cue", onlyLevels(looks), onlyLevels(Resolve(copyOf(show, cues))))

		// Then no cue needs any other, and the same levels come from each alone.
		for i, cue := range cues {
			alone := Resolve(copyOf(show, []*schema.Cue{cue}))
			same(t, "a cue with every level written into it, alone", onlyLevels(looks)[i:i+1], onlyLevels(alone))
		}
	})
}

func TestTheOrderOfTheFileDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := drawShow(t)
		shuffled := rapid.Permutation(show.Cues).Draw(t, "order")
		same(t, "the cue list in another order", pictures(Resolve(show)), pictures(Resolve(copyOf(show, shuffled))))
	})
}

func TestSplittingACueIntoPartsChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := drawShow(t)
		var cues []*schema.Cue
		for _, cue := range show.Cues {
			at := rapid.IntRange(0, len(cue.Set)).Draw(t, "settings in the first part")
			one, two := 1, 2
			first, second := *cue, *cue
			first.Part, first.Set, first.Screens = &one, cue.Set[:at], nil
			second.Part, second.Set = &two, cue.Set[at:]
			switch rapid.IntRange(0, 2).Draw(t, "who says how it tracks") {
			case 0:
				first.Tracking = ""
			case 1:
				second.Tracking = ""
			}
			cues = append(cues, &second, &first)
		}
		same(t, "each cue in two parts", pictures(Resolve(show)), pictures(Resolve(copyOf(show, cues))))
	})
}

func TestSelectionsInAnotherNotationAreEqual(t *testing.T) {
	show := &schema.Show{}
	for i := range mostChannels {
		show.Patch = append(show.Patch, &schema.Fixture{Channel: i + 1})
	}
	rapid.Check(t, func(t *rapid.T) {
		channels := drawChannels().Draw(t, "channels")
		numbers := make([]string, len(channels))
		for i, channel := range channels {
			numbers[i] = fmt.Sprint(channel)
		}
		written := strings.Join(numbers, rapid.SampledFrom([]string{",", ", ", ";", " + ", ",,"}).Draw(t, "separator"))
		got, err := show.Channels(written)
		if err != nil {
			t.Fatalf("%q: %v", written, err)
		}
		same(t, "the channels of "+written, channels, got)

		short := schema.FormatChannels(channels)
		got, err = show.Channels(short)
		if err != nil {
			t.Fatalf("%q: %v", short, err)
		}
		same(t, "the channels of "+short, slices.Sorted(slices.Values(channels)), got)

		// A cue list does the same, whichever way it is written.
		level := schema.Level(50)
		cues := func(text string) *schema.Show {
			patch := make([]*schema.Fixture, mostChannels)
			for i := range patch {
				patch[i] = &schema.Fixture{Channel: i + 1}
			}
			return &schema.Show{Patch: patch, Cues: []*schema.Cue{{Number: 1, Set: []*schema.Setting{{Channels: text, Told: &schema.Told{Level: &level}}}}}}
		}
		looks := Resolve(cues(written))
		same(t, "the looks of "+written+" and "+short, onlyLevels(looks), onlyLevels(Resolve(cues(short))))
		if looks[0].State(channels[0]).Level != 50 {
			t.Fatalf("%s sets nothing", written)
		}
	})
}

func TestAnExtraDarkChannelChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := drawShow(t)
		for _, cue := range show.Cues {
			for _, setting := range cue.Set {
				setting.Channels = strings.ReplaceAll(setting.Channels, "all", fmt.Sprintf("1-%d", mostChannels)) // else it is mentioned
			}
		}
		before := Resolve(show)
		more := copyOf(show, show.Cues)
		extra := rapid.IntRange(mostChannels+1, 2000).Draw(t, "extra channel")
		at := rapid.IntRange(0, len(show.Patch)).Draw(t, "its place in the patch")
		more.Patch = slices.Insert(slices.Clone(show.Patch), at, &schema.Fixture{Channel: extra})
		after := Resolve(more)
		same(t, "a channel more in the patch", pictures(before), pictures(after))
		for i := range after {
			if state := after[i].State(extra); state.Level != 0 || after[i].SetBy(extra, LevelBy) != Nobody || state.Colour != nil || state.Rest != nil {
				t.Fatalf("the extra channel %d does something: %+v", extra, state)
			}
		}
	})
}

func TestResolveChangesNoShow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := drawShow(t)
		words := func() string {
			text := fmt.Sprint(slices.Sorted(maps.Keys(show.Groups)))
			for _, cue := range show.Cues {
				text += fmt.Sprintf("\n%+v", *cue)
				for _, setting := range cue.Set {
					text += fmt.Sprintf("\n  %+v %v", *setting, setting.Mix)
				}
				for _, drive := range cue.Screens {
					text += fmt.Sprintf("\n  %+v", *drive)
				}
			}
			return text
		}
		before, first := words(), pictures(Resolve(show))
		same(t, "the show itself", before, words())
		same(t, "the same show a second time", first, pictures(Resolve(show)))
	})
}

// A value of a look was given by its By, in that look or before: the setting
// names the channel and holds the value.
func TestByHoldsTheValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := drawShow(t)
		looks := Resolve(show)
		for i := range looks {
			for channel := 1; channel <= mostChannels; channel++ {
				state := looks[i].State(channel)
				by := looks[i].SetBy(channel, LevelBy)
				if by.Look > i {
					t.Fatalf("look %d has a level of channel %d from look %d", i, channel, by.Look)
				}
				if by == Nobody && state.Level != 0 {
					t.Fatalf("nobody set channel %d to %g", channel, state.Level)
				}
				if by.Setting == nil {
					continue
				}
				channels, _ := show.Channels(by.Setting.Channels)
				if !slices.Contains(channels, channel) || by.Setting.Level == nil || float64(*by.Setting.Level) != state.Level {
					t.Fatalf("channel %d is at %g in look %d, set by %+v", channel, state.Level, i, by.Setting)
				}
				if !slices.ContainsFunc(looks[by.Look].Parts, func(cue *schema.Cue) bool { return slices.Contains(cue.Set, by.Setting) }) {
					t.Fatalf("look %d does not hold the setting that gave channel %d its level", by.Look, channel)
				}
			}
		}
	})
}

// Who gave a value is what a replay from the first cue on says, in whatever order the
// looks are asked; and what looks say of their slots is what their channels do.
func TestSetByIsAReplay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := drawShow(t)
		looks := Resolve(show)
		type slot struct{ by [values]By }
		var want [][mostChannels]slot
		now := [mostChannels]slot{}
		for c := range now {
			now[c].by = [values]By{Nobody, Nobody, Nobody}
		}
		for i := range looks {
			for c := range now {
				was := dark
				if i > 0 {
					was = looks[i-1].State(c + 1)
				}
				switch {
				case tracks(looks[i].Parts, "release"):
					if was.Level > 0 {
						now[c].by[LevelBy] = By{Look: i}
					}
				case tracks(looks[i].Parts, "restate"):
					for v := range values {
						if now[c].by[v] != Nobody {
							now[c].by[v] = By{Look: i}
						}
					}
				}
			}
			for _, part := range looks[i].Parts {
				for _, set := range part.Set {
					channels, _ := show.Channels(set.Channels)
					for _, channel := range channels {
						if _, patched := looks[i].Slot(channel); !patched || channel > mostChannels {
							continue
						}
						for v := range values {
							if tells(set, v) {
								now[channel-1].by[v] = By{i, set}
							}
						}
					}
				}
			}
			want = append(want, now)
		}
		for range 40 {
			if len(looks) == 0 {
				return
			}
			i, c := rapid.IntRange(0, len(looks)-1).Draw(t, "look"), rapid.IntRange(0, mostChannels-1).Draw(t, "channel")
			v := Value(rapid.IntRange(0, int(values)-1).Draw(t, "value"))
			if _, patched := looks[i].Slot(c + 1); !patched {
				continue
			}
			if got := looks[i].SetBy(c+1, v); got != want[i][c].by[v] {
				t.Fatalf("value %d of channel %d in look %d is by %+v, want %+v", v, c+1, i, got, want[i][c].by[v])
			}
		}
		for i := 1; i < len(looks); i++ {
			changed, told := map[int]bool{}, map[int]bool{}
			for slot := range looks[i].Changed(&looks[i-1]) {
				changed[slot] = true
			}
			for _, slot := range saidOf(&looks[i]) {
				told[slot] = true
			}
			for slot := range looks[i].Slots() {
				if differs := looks[i].At(slot) != looks[i-1].At(slot); differs != changed[slot] || differs && !told[slot] {
					t.Fatalf("slot %d differs in look %d: %v; said to: %v, told: %v", slot, i, differs, changed[slot], told[slot])
				}
			}
		}
	})
}

// What is resolved again after a change is what a fresh start makes of it: states, who
// gave each value, screens and segments.
func TestAgainIsAFreshStart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := drawShow(t)
		looks := Resolve(show)
		for range rapid.IntRange(1, 3).Draw(t, "changes in a row") {
			other := drawShow(t)
			changed := copyOf(show, slices.Clone(show.Cues))
			cuesStay := rapid.IntRange(0, 3).Draw(t, "all cues stay") == 0
			for i, cue := range changed.Cues {
				if cuesStay || len(other.Cues) == 0 || rapid.IntRange(0, 4).Draw(t, "leave the cue") > 0 {
					continue
				}
				mine, theirs := *cue, other.Cues[i%len(other.Cues)]
				switch rapid.IntRange(0, 3).Draw(t, "what changes") {
				case 0:
					mine.Set = theirs.Set
				case 1:
					mine.Screens = theirs.Screens
				case 2:
					mine.Tracking = theirs.Tracking
				case 3:
					mine.Set = append(slices.Clone(mine.Set), theirs.Set...)
				}
				changed.Cues[i] = &mine
			}
			if (cuesStay || rapid.IntRange(0, 5).Draw(t, "the patch stays") == 0) && len(show.Patch) > 0 {
				changed.Patch = slices.Clone(show.Patch)
				line := *changed.Patch[0]
				line.Channel = rapid.IntRange(1, mostChannels).Draw(t, "another channel")
				changed.Patch[0] = &line
			}
			again, fresh := Again(changed, looks), Resolve(changed)
			same(t, "the looks of a changed show", pictures(fresh), pictures(again))
			for i := range fresh {
				for channel := 1; channel <= mostChannels; channel++ {
					for v := range values {
						if a, b := fresh[i].SetBy(channel, v), again[i].SetBy(channel, v); a != b {
							t.Fatalf("value %d of channel %d in look %d is by %+v, not %+v", v, channel, i, b, a)
						}
					}
				}
				if !slices.Equal(saidOf(&fresh[i]), saidOf(&again[i])) {
					t.Fatalf("look %d is told other slots", i)
				}
			}
			show, looks = changed, again
		}
	})
}

// A change of one cue in many costs what that cue costs, and no more memory than it.
func TestAgainSharesTheRest(t *testing.T) {
	show := &schema.Show{}
	for i := range 200 {
		show.Patch = append(show.Patch, &schema.Fixture{Channel: i + 1})
	}
	level := schema.Level(1)
	for i := range 1000 {
		l := schema.Level(i % 90)
		show.Cues = append(show.Cues, &schema.Cue{Number: schema.CueNumber(i), Set: []*schema.Setting{{Channels: fmt.Sprint(i%200 + 1), Told: &schema.Told{Level: &l}}}})
	}
	looks := Resolve(show)
	changed := copyOf(show, slices.Clone(show.Cues))
	cue := *changed.Cues[500]
	cue.Set = []*schema.Setting{{Channels: "7", Told: &schema.Told{Level: &level}}}
	changed.Cues[500] = &cue
	again := Again(changed, looks)
	shared := 0
	for i := range again {
		for b := range again[i].blocks {
			if again[i].blocks[b] == looks[i].blocks[b] {
				shared++
			}
		}
	}
	// Channel 7 and the channel that cue 500 no longer sets are told again within 200 cues.
	if all := len(again) * len(again[0].blocks); shared < all-2*200 {
		t.Errorf("%d of %d blocks are shared", shared, all)
	}
}

// Neighbours are told apart where a look, a cue or a part of one does not treat them alike.
func TestApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := drawShow(t)
		for channel := mostChannels + 1; channel <= 3*blockSize; channel++ { // more than fit into a block
			show.Patch = append(show.Patch, &schema.Fixture{Channel: channel})
		}
		for _, cue := range show.Cues {
			first := rapid.IntRange(1, 3*blockSize).Draw(t, "first")
			more := *drawSetting(t)
			more.Channels = fmt.Sprintf("%d-%d", first, rapid.IntRange(first, 3*blockSize).Draw(t, "last"))
			cue.Set = append(cue.Set, &more)
		}
		if rapid.Bool().Draw(t, "parts") {
			last := show.Cues[len(show.Cues)-1]
			two := 2
			show.Cues = append(show.Cues, &schema.Cue{Number: last.Number, Part: &two, Set: []*schema.Setting{drawSetting(t), drawSetting(t)}})
		}
		looks := Resolve(show)
		differ := make([]bool, looks[0].Slots())
		for i := range looks {
			told := map[int]bool{}
			for _, s := range saidOf(&looks[i]) {
				told[s] = true
			}
			part := func(slot int) int {
				if len(looks[i].Parts) == 1 {
					return 0
				}
				by := looks[i].SetBy(show.Patch[slot].Channel, LevelBy)
				return slices.IndexFunc(looks[i].Parts, func(c *schema.Cue) bool { return by.Look == i && slices.Contains(c.Set, by.Setting) })
			}
			for slot := 1; slot < len(differ); slot++ {
				differ[slot] = differ[slot] || looks[i].At(slot) != looks[i].At(slot-1) || told[slot] != told[slot-1] || part(slot) != part(slot-1)
			}
		}
		differ[0] = true
		if diff := cmp.Diff(differ, Apart(looks)); diff != "" {
			t.Fatal(diff)
		}
	})
}
