package schema

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
)

// Level is a channel level in percent, 0 to 100.
type Level float64

// ParseLevel reads a level as people write it: "70", "70%", "70 %", "FL" or "Full".
func ParseLevel(text string) (Level, error) {
	text = strings.TrimSpace(text)
	switch strings.ToLower(text) {
	case "fl", "full":
		return 100, nil
	}
	digits := strings.TrimSpace(strings.TrimSuffix(text, "%"))
	value, err := strconv.ParseFloat(digits, 64)
	if err != nil || strings.Trim(digits, "0123456789.") != "" || value > 100 {
		return 0, fmt.Errorf("%q is not a level from 0 to 100, FL or Full", text)
	}
	return Level(value), nil
}

func (l *Level) read(ref source.Ref) bool {
	level, err := ParseLevel(ref.Str())
	*l = level
	return err == nil
}

// CueNumber is a decimal cue number in ten-thousandths, so that 9.5 stands
// before 10 and 2.10 is the same cue as 2.1.
type CueNumber int64

const cueUnit = 10_000

// ParseCueNumber reads a cue number: up to six digits, up to four decimals.
func ParseCueNumber(text string) (CueNumber, error) {
	whole, fraction, _ := strings.Cut(strings.TrimSpace(text), ".")
	w, errW := strconv.ParseUint(whole, 10, 32)
	f, errF := strconv.ParseUint((fraction + "0000")[:4], 10, 32)
	if errW != nil || errF != nil || len(whole) > 6 || len(fraction) > 4 {
		return 0, fmt.Errorf("%q is not a cue number such as 12 or 12.5", text)
	}
	return CueNumber(w*cueUnit + f), nil
}

// String writes the number as people do: 12, 12.5.
func (n CueNumber) String() string {
	whole, fraction := n/cueUnit, n%cueUnit
	if fraction == 0 {
		return strconv.FormatInt(int64(whole), 10)
	}
	return strings.TrimRight(fmt.Sprintf("%d.%04d", whole, fraction), "0")
}

func (n *CueNumber) read(ref source.Ref) bool {
	number, err := ParseCueNumber(ref.Str())
	*n = number
	return err == nil
}

// Aim is what something points at: the name of a place or surface, or a point.
type Aim struct {
	Name  string
	Point *Point
}

// String names the aim for people.
func (a Aim) String() string {
	if a.Point == nil {
		return a.Name
	}
	return fmt.Sprintf("x %g m, y %g m, z %g m", a.Point.X, a.Point.Y, a.Point.Z)
}

func (a *Aim) read(ref source.Ref) bool {
	if ref.Kind() == source.String {
		a.Name = ref.Str()
		return true
	}
	a.Point = new(Point)
	return ref.Kind() == source.Object && decode(ref, a.Point)
}

// Address is where a fixture starts to listen: universe and slot, both from 1.
type Address struct{ Universe, Slot int }

// ParseAddress reads "universe.slot" or "universe/slot". It accepts any whole
// numbers: whether they are within a standard's range is for a rule to say.
func ParseAddress(text string) (Address, error) {
	text = strings.TrimSpace(text)
	universe, slot, found := strings.Cut(strings.Replace(text, "/", ".", 1), ".")
	u, errU := strconv.Atoi(universe)
	s, errS := strconv.Atoi(slot)
	if !found || errU != nil || errS != nil {
		return Address{}, fmt.Errorf("%q is not an address such as 1.101 (universe.slot)", text)
	}
	return Address{u, s}, nil
}

// String writes the address as universe.slot.
func (a Address) String() string { return fmt.Sprintf("%d.%d", a.Universe, a.Slot) }

// MaxChannel is the highest channel number a show may use. The limit keeps a
// typing mistake such as 1-99999999 from filling the memory.
const MaxChannel = 99_999

// ParseChannels reads a selection such as "1-6,9": numbers and ranges, split by
// commas, semicolons or "+". The result is in the order written, without repeats.
func ParseChannels(text string) ([]int, error) {
	var channels []int
	seen := map[int]bool{}
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' || r == '+' }) {
		first, last, isRange := strings.Cut(strings.TrimSpace(part), "-")
		from, err := channelNumber(first)
		if err != nil {
			return nil, err
		}
		to := from
		if isRange {
			if to, err = channelNumber(last); err != nil {
				return nil, err
			}
		}
		if to < from {
			return nil, fmt.Errorf("the range %s runs backwards", strings.TrimSpace(part))
		}
		for c := from; c <= to; c++ {
			if !seen[c] {
				seen[c] = true
				channels = append(channels, c)
			}
		}
	}
	if len(channels) == 0 {
		return nil, fmt.Errorf("%q names no channel", text)
	}
	return channels, nil
}

func channelNumber(text string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 1 || n > MaxChannel {
		return 0, fmt.Errorf("%q is not a channel from 1 to %d", strings.TrimSpace(text), MaxChannel)
	}
	return n, nil
}

// FormatChannels writes channels the short way, in numeric order: "1-6, 9".
func FormatChannels(channels []int) string {
	sorted := append([]int(nil), channels...)
	sortInts(sorted)
	var parts []string
	for i := 0; i < len(sorted); {
		j := i
		for j+1 < len(sorted) && sorted[j+1] <= sorted[j]+1 {
			j++
		}
		switch {
		case sorted[j] == sorted[i]:
			parts = append(parts, strconv.Itoa(sorted[i]))
		case sorted[j] == sorted[i]+1:
			parts = append(parts, strconv.Itoa(sorted[i]), strconv.Itoa(sorted[j]))
		default:
			parts = append(parts, fmt.Sprintf("%d-%d", sorted[i], sorted[j]))
		}
		i = j + 1
	}
	return strings.Join(parts, ", ")
}
