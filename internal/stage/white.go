package stage

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"github.com/cueproof/cueproof/schema"
)

// SameWhite is how close two whites have to be to count as the same, in mired:
// well under what anybody sees, well over rounding.
const SameWhite = 0.5

// MiredApart is how far apart two colour temperatures in kelvin are, in mired.
func MiredApart(a, b float64) float64 { return math.Abs(1e6/a - 1e6/b) }

// ChannelNumbers are the channels of lamps.
func ChannelNumbers(lamps []*Lamp) (channels []int) {
	for _, lamp := range lamps {
		channels = append(channels, lamp.Channel)
	}
	return channels
}

// Whites are the lamps of a list whose light is white.
type Whites struct {
	Lamps     []*Lamp
	Low, High float64 // K, of the warmest and the coolest
	Duv       float64 // the one farthest from zero
	DuvApart  float64 // from the pinkest to the greenest
	FullMired float64 // from the coolest to the warmest if no filament were dimmed
	Drift     float64 // mired by which the most dimmed filament is warmer than at full
	DriftOff  Off     // of the one of which that is known worst
	Glowing   []*Lamp // filaments too cold for a white that is more than a guess; not among the others
}

// WhitesOf picks out the white lamps, and says what is missing to know all of them.
func WhitesOf(lamps []*Lamp) (w Whites, missing []string) {
	w.Low, w.High = math.Inf(1), math.Inf(-1)
	cool, warm := math.Inf(1), math.Inf(-1)
	pink, green := math.Inf(1), math.Inf(-1)
	for _, lamp := range lamps {
		if lamp.Missing != "" && lamp.Coloured == nil { // where the flux alone is missing, the white is known
			missing = append(missing, lamp.Missing)
			continue
		}
		if !lamp.White() {
			continue
		}
		w.Drift = math.Max(w.Drift, *lamp.Drift)
		if off := lamp.DriftOff(); off.By > w.DriftOff.By {
			w.DriftOff = off
		}
		if lamp.CCT == nil {
			w.Glowing = append(w.Glowing, lamp)
			continue
		}
		w.Lamps = append(w.Lamps, lamp)
		w.Low, w.High = math.Min(w.Low, *lamp.CCT), math.Max(w.High, *lamp.CCT)
		full := 1e6 / *lamp.CCT - *lamp.Drift
		cool, warm = math.Min(cool, full), math.Max(warm, full)
		w.FullMired = warm - cool
		pink, green = math.Min(pink, *lamp.Duv), math.Max(green, *lamp.Duv)
		w.DuvApart = green - pink
		if math.Abs(*lamp.Duv) > math.Abs(w.Duv) {
			w.Duv = *lamp.Duv
		}
	}
	return w, missing
}

// Having lists the lamps of a white.
func (w Whites) Having(kelvin float64) []*Lamp {
	var list []*Lamp
	for _, lamp := range w.Lamps {
		if math.Abs(*lamp.CCT-kelvin) < 0.5 {
			list = append(list, lamp)
		}
	}
	return list
}

// Drifted lists the filaments that are warmer than at full by more than a number of
// mired, and that have a level at which they are not.
func (w Whites) Drifted(mired float64) []*Lamp {
	var list []*Lamp
	for _, lamp := range slices.Concat(w.Lamps, w.Glowing) {
		if _, ok := lamp.LevelForDrift(mired); ok && *lamp.Drift > mired {
			list = append(list, lamp)
		}
	}
	return list
}

// Settable lists the lamps that can be set to a white and are not.
func (w Whites) Settable(kelvin float64) []*Lamp {
	var list []*Lamp
	for _, lamp := range w.Lamps {
		if low, high, free := lamp.variableWhite(); free && MiredApart(*lamp.CCT, kelvin) > SameWhite && kelvin >= low && kelvin <= high {
			list = append(list, lamp)
		}
	}
	return list
}

// CommonWhite finds the white that all lamps on a place can share, and those that
// make another now: the one of the lamps that cannot be set, if they agree; else
// the cameras', if they agree; else the one that most lamps have, or the mean in mired, to
// the next 100 K. It leaves the cameras' white by at most cameraMired. lack says why there
// is none.
func (r *Rig) CommonWhite(w Whites, place string, cameraMired float64) (kelvin float64, set []*Lamp, lack string) {
	var fixed []float64
	var free []*Lamp
	mean, count, most := 0.0, map[float64]int{}, 0
	for _, lamp := range w.Lamps {
		mean += 1e6 / *lamp.CCT / float64(len(w.Lamps))
		count[asNamed(*lamp.CCT)]++
		if _, _, ok := lamp.variableWhite(); ok {
			free = append(free, lamp)
		} else {
			fixed = append(fixed, *lamp.CCT)
		}
	}
	common := asNamed(1e6 / mean)
	for _, white := range slices.Sorted(maps.Keys(count)) {
		if n := count[white]; n > most && 2*n > len(w.Lamps) {
			common, most = white, n
		}
	}
	camera, agreed := r.CameraWhite(r.Room.PastPlace(place))
	if agreed {
		common = camera
	}
	if len(fixed) > 0 {
		common = math.Round(fixed[0])
		if w.Drift > SameWhite { // of a filament that is dimmed, nobody names it more closely
			common = asNamed(common)
		}
	}
	for _, kelvin := range fixed {
		if MiredApart(kelvin, fixed[0]) > SameWhite {
			return 0, nil, fmt.Sprintf("key lights on %s whose white can be set: two of them cannot and differ", place)
		}
	}
	for _, lamp := range free {
		if low, high, _ := lamp.variableWhite(); common < low || common > high {
			return 0, nil, fmt.Sprintf("a key light on channel %d that reaches %.0f K", lamp.Channel, common)
		}
		if MiredApart(*lamp.CCT, common) > SameWhite {
			set = append(set, lamp)
		}
	}
	if agreed && MiredApart(common, camera) > cameraMired {
		return 0, nil, fmt.Sprintf("a key light on %s that can be filtered or set to the cameras' %.0f K", place, camera)
	}
	return common, set, ""
}

// SetsWhite reports whether somebody has set the white of a camera: that of one that
// finds its own is unknown at any moment, and so is that of a phone of which nobody says
// otherwise.
func SetsWhite(camera *schema.Camera) bool { return byHand(camera, camera.AutoWhite) }

// SetsWhite reports whether the white of a camera of the show is set by hand, or no
// camera is known.
func (r *Rig) SetsWhite() bool {
	return r.Show.Room == nil || len(r.Show.Room.Cameras) == 0 || slices.ContainsFunc(r.Show.Room.Cameras, SetsWhite)
}

// WhiteApart is the camera whose white is farthest from a light.
type WhiteApart struct {
	Mired, Kelvin float64 // from it, what comes of dimmed filaments aside, and what the camera is set to
	DriftMired    float64 // by which a filament is warmer than a camera because it is dimmed; of all cameras the most
	Duv           float64 // of the light from what the cameras take as white; the one farthest from zero
	NoTint        string  // the camera of which that is, where nobody says what tint it is set to
	Camera        string
	Wanders       bool // it may have what is asked about in its picture or not
}

// coolerMired is how much cooler than a camera's white a filament may be because it is up where
// the camera was set with it dimmed: as much as it may be warmer the other way, by the rule for
// dimmed filaments. Common practice, no source.
const coolerMired = 40

// CameraApart compares the white on the face on a place with what the cameras that see it are set to, and says what is
// missing; of no camera where that is all.
func (r *Rig) CameraApart(w White, place string) (worst WhiteApart, missing []string) {
	if r.Show.Room == nil || len(r.Show.Room.Cameras) == 0 {
		return worst, []string{"the cameras of the room, with the white balance of each"}
	}
	worst.Mired = -1
	var cameras []*schema.Camera
	cameras, worst.Wanders = r.CamerasSet(r.Room.PastPlace(place))
	for _, camera := range cameras {
		if !IsWhite(camera.WhiteK) {
			if camera.Role != "roaming" {
				missing = AddMissing(missing, fmt.Sprintf("the white balance of the camera %q", camera.Name))
			}
			continue
		}
		warmer := w.Mired - 1e6 / *camera.WhiteK
		worst.DriftMired = max(worst.DriftMired, w.Over(1e6 / *camera.WhiteK))
		byLevel := min(w.DriftMired, max(0, warmer))
		if w.Filament && warmer < 0 {
			byLevel = -min(coolerMired, -warmer)
		}
		if apart := math.Abs(warmer - byLevel); apart > worst.Mired {
			worst.Mired, worst.Kelvin, worst.Camera = apart, *camera.WhiteK, camera.Name
		}
		if duv := w.Duv - Value(camera.TintDuv); math.Abs(duv) > math.Abs(worst.Duv) {
			if worst.Duv, worst.NoTint = duv, ""; camera.TintDuv == nil {
				worst.NoTint = camera.Name
			}
		}
	}
	if worst.Mired < 0 && len(missing) == 0 {
		missing = []string{"a camera whose white is set by hand"}
	}
	return worst, missing
}

// KeyWhites is how often a white, in whole mired, is that of a key light in a look
// with people.
type KeyWhites map[int]keyWhite

// Add counts the white key lights of a look with people, but for those that point at a place which is elsewhere.
func (k KeyWhites) Add(look *LookLight, elsewhere func(place string) bool) {
	if len(look.People()) == 0 {
		return
	}
	for _, lamp := range look.Lamps {
		if aim := lamp.Aim(); aim != nil && elsewhere(aim.Name) {
			continue
		}
		if lamp.Purpose == "key" && lamp.Coloured != nil && !*lamp.Coloured && lamp.CCT != nil {
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

// Best is the white that fits the key lights of all looks with people
// best: the middle of the warmest and the coolest in mired, which is the least
// worst, if it is within a number of mired of both; else the white that most of them have.
// It is a white that cameras have already, or one to the next 100 K, where that does as
// well; else one to the next 10 K, finer than any camera's menu.
func (k KeyWhites) Best(maxMired float64, have ...float64) (kelvin float64, ok bool) {
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
	low, high := kelvin, kelvin
	if warmest != coolest && float64(warmest-coolest) <= 2*maxMired {
		kelvin, low, high = 2e6/float64(warmest+coolest), 1e6/float64(warmest), 1e6/float64(coolest)
	}
	for _, as := range append(have, asNamed(kelvin)) {
		if math.Abs(as-kelvin) <= whiteStep/2 && max(MiredApart(as, low), MiredApart(as, high)) <= maxMired {
			return as, true
		}
	}
	return math.Round(kelvin/10) * 10, true
}

// whiteStep is between the whites that people choose and menus offer, in kelvin (common
// practice, no source).
const whiteStep = 100

// asNamed is the white that people would name for one, in kelvin.
func asNamed(kelvin float64) float64 { return whiteStep * math.Round(kelvin/whiteStep) }

// leastKelvin is where temperatures of colour begin (Ohno 2014).
const leastKelvin = 1000

// IsWhite reports whether a white balance is given and is one: from 1000 to
// 25,000 K, the range of correlated colour temperatures (Ohno 2014).
func IsWhite(kelvin *float64) bool {
	return kelvin != nil && *kelvin >= leastKelvin && *kelvin <= 25_000
}

// CamerasSet are the cameras whose white is set by hand and that do not look past what is asked about. One that wanders
// is among them only where there is no other.
func (r *Rig) CamerasSet(past func(*schema.Camera) bool) (cameras []*schema.Camera, wander bool) {
	cameras = slices.DeleteFunc(slices.Clone(r.Show.Room.Cameras), func(c *schema.Camera) bool { return !SetsWhite(c) || past(c) })
	if standing := slices.DeleteFunc(slices.Clone(cameras), r.Room.wanders); len(standing) > 0 {
		return standing, false
	}
	return cameras, len(cameras) > 0
}

// CameraWhite returns the white that the cameras are set to that do not look past what is asked about, if they agree.
func (r *Rig) CameraWhite(past func(*schema.Camera) bool) (kelvin float64, ok bool) {
	if r.Show.Room == nil {
		return 0, false
	}
	cameras, _ := r.CamerasSet(past)
	for _, camera := range cameras {
		if camera.Role == "roaming" && camera.WhiteK == nil {
			continue
		}
		if !IsWhite(camera.WhiteK) || ok && *camera.WhiteK != kelvin {
			return 0, false
		}
		kelvin, ok = *camera.WhiteK, true
	}
	return kelvin, ok
}
