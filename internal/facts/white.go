package facts

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"github.com/cueproof/cueproof/schema"
)

// sameWhite is how close two whites have to be to count as the same, in mired:
// well under what anybody sees, well over rounding.
const sameWhite = 0.5

func miredApart(a, b float64) float64 { return math.Abs(1e6/a - 1e6/b) }

func channelsOf(lamps []*stageLamp) string {
	var channels []int
	for _, lamp := range lamps {
		channels = append(channels, lamp.Channel)
	}
	return schema.FormatChannels(channels)
}

// whites are the lamps of a list whose light is white.
type whites struct {
	lamps     []*stageLamp
	low, high float64 // K, of the warmest and the coolest
	duv       float64 // the one farthest from zero
	drift     float64 // mired by which the most dimmed filament is warmer than at full
}

// whitesOf picks out the white lamps, and says what is missing to know all of them.
func whitesOf(lamps []*stageLamp) (w whites, missing []string) {
	w.low, w.high = math.Inf(1), math.Inf(-1)
	for _, lamp := range lamps {
		if lamp.missing != "" {
			missing = append(missing, lamp.missing)
			continue
		}
		if lamp.Coloured == nil || *lamp.Coloured {
			continue
		}
		w.lamps = append(w.lamps, lamp)
		w.low, w.high = math.Min(w.low, *lamp.CCT), math.Max(w.high, *lamp.CCT)
		if math.Abs(*lamp.Duv) > math.Abs(w.duv) {
			w.duv = *lamp.Duv
		}
		w.drift = math.Max(w.drift, *lamp.Drift)
	}
	return w, missing
}

// having lists the lamps of a white.
func (w whites) having(kelvin float64) []*stageLamp {
	var list []*stageLamp
	for _, lamp := range w.lamps {
		if math.Abs(*lamp.CCT-kelvin) < 0.5 {
			list = append(list, lamp)
		}
	}
	return list
}

// drifted lists the filaments that are warmer than at full by more than a number of
// mired, and that have a level at which they are not.
func (w whites) drifted(mired float64) []*stageLamp {
	var list []*stageLamp
	for _, lamp := range w.lamps {
		if *lamp.Drift > mired && lamp.SteadyLevel != nil {
			list = append(list, lamp)
		}
	}
	return list
}

// settable lists the lamps that can be set to a white and are not.
func (w whites) settable(kelvin float64) []*stageLamp {
	var list []*stageLamp
	for _, lamp := range w.lamps {
		if low, high, free := lamp.variableWhite(); free && miredApart(*lamp.CCT, kelvin) > sameWhite && kelvin >= low && kelvin <= high {
			list = append(list, lamp)
		}
	}
	return list
}

// commonWhite finds the white that all lamps on a place can share, and those that
// make another now: the one of the lamps that cannot be set, if they agree; else
// the cameras', if they agree; else the mean in mired. It leaves the cameras' white
// by at most cameraMired. lack says why there is none.
func (r *rig) commonWhite(w whites, place string, cameraMired float64) (kelvin float64, set []*stageLamp, lack string) {
	var fixed []float64
	var free []*stageLamp
	mean := 0.0
	for _, lamp := range w.lamps {
		mean += 1e6 / *lamp.CCT / float64(len(w.lamps))
		if _, _, ok := lamp.variableWhite(); ok {
			free = append(free, lamp)
		} else {
			fixed = append(fixed, *lamp.CCT)
		}
	}
	common := 1e6 / mean
	camera, agreed := r.cameraWhite()
	if agreed {
		common = camera
	}
	if len(fixed) > 0 {
		common = fixed[0]
	}
	for _, kelvin := range fixed {
		if miredApart(kelvin, common) > sameWhite {
			return 0, nil, fmt.Sprintf("key lights on %s whose white can be set: two of them cannot and differ", place)
		}
	}
	for _, lamp := range free {
		if low, high, _ := lamp.variableWhite(); common < low || common > high {
			return 0, nil, fmt.Sprintf("a key light on channel %d that reaches %.0f K", lamp.Channel, common)
		}
		if miredApart(*lamp.CCT, common) > sameWhite {
			set = append(set, lamp)
		}
	}
	if agreed && miredApart(common, camera) > cameraMired {
		return 0, nil, fmt.Sprintf("a key light on %s that can be filtered or set to the cameras' %.0f K", place, camera)
	}
	return math.Round(common), set, ""
}

// cameraMired is how far a proposal may leave the keys from the cameras; the rule
// white/key-camera has the same number as its limit. Common practice, no source.
const cameraMired = 15

// whiteApart is the camera whose white is farthest from a light.
type whiteApart struct {
	mired, kelvin float64 // from it, and what the camera is set to
	camera        string
}

// cameraApart compares whites with what the cameras are set to, or says what is
// missing.
func (r *rig) cameraApart(w whites) (worst whiteApart, missing []string) {
	if r.show.Room == nil || len(r.show.Room.Cameras) == 0 {
		return worst, []string{"the cameras of the room, with the white balance of each"}
	}
	worst.mired = -1
	for _, camera := range r.show.Room.Cameras {
		if !isWhite(camera.WhiteK) {
			missing = addMissing(missing, fmt.Sprintf("the white balance of the camera %q", camera.Name))
			continue
		}
		for _, lamp := range w.lamps {
			if apart := miredApart(*lamp.CCT, *camera.WhiteK); apart > worst.mired {
				worst = whiteApart{apart, *camera.WhiteK, camera.Name}
			}
		}
	}
	return worst, missing
}

// keyWhites is how often a white, in whole mired, is that of a key light in a look
// with people.
type keyWhites map[int]keyWhite

// add counts the white key lights of a look with people.
func (k keyWhites) add(look *stageLook) {
	if len(look.people()) == 0 {
		return
	}
	for _, lamp := range look.lamps {
		if lamp.Purpose == "key" && lamp.Coloured != nil && !*lamp.Coloured {
			mired := int(math.Round(1e6 / *lamp.CCT))
			white := k[mired]
			k[mired] = keyWhite{white.count + 1, white.kelvin + *lamp.CCT}
		}
	}
}

// keyWhite is how often a white occurs, and the sum of its temperatures.
type keyWhite struct {
	count  int
	kelvin float64
}

// best is the white that fits the key lights of all looks with people
// best: the middle of the warmest and the coolest in mired, which is the least
// worst, if it is near enough to both; else the white that most of them have.
// Rounded to 10 K, finer than any camera's menu.
func (k keyWhites) best() (kelvin float64, ok bool) {
	if len(k) == 0 {
		return 0, false
	}
	warmest, coolest := math.MinInt, math.MaxInt
	var common keyWhite
	for _, mired := range slices.Sorted(maps.Keys(k)) {
		warmest, coolest = max(warmest, mired), min(coolest, mired)
		if white := k[mired]; white.count > common.count {
			common = white
		}
	}
	kelvin = common.kelvin / float64(common.count)
	if warmest != coolest && warmest-coolest <= 2*cameraMired {
		kelvin = 2e6 / float64(warmest+coolest)
	}
	return math.Round(kelvin/10) * 10, true
}

// isWhite reports whether a white balance is given and is one: from 1000 to
// 25,000 K, the range of correlated colour temperatures (Ohno 2014).
func isWhite(kelvin *float64) bool {
	return kelvin != nil && *kelvin >= leastKelvin && *kelvin <= 25_000
}

// cameraWhite returns the white that all cameras are set to, if they agree.
func (r *rig) cameraWhite() (kelvin float64, ok bool) {
	if r.show.Room == nil {
		return 0, false
	}
	for _, camera := range r.show.Room.Cameras {
		if !isWhite(camera.WhiteK) || ok && *camera.WhiteK != kelvin {
			return 0, false
		}
		kelvin, ok = *camera.WhiteK, true
	}
	return kelvin, ok
}
