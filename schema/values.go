package schema

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
)

// Level is a channel level in percent, 0 to 100.
type Level float64

// ParseLevel reads a level as people write it: "70", "70%", "70 %" or "Full".
func ParseLevel(text string) (Level, error) {
	text = strings.TrimSpace(text)
	if strings.EqualFold(text, "full") {
		return 100, nil
	}
	digits := strings.TrimSpace(strings.TrimSuffix(text, "%"))
	value, err := strconv.ParseFloat(digits, 64)
	if err != nil || strings.Trim(digits, "0123456789.") != "" || value > 100 {
		return 0, fmt.Errorf("%q is not a level from 0 to 100, or Full", source.Shorten(text))
	}
	return Level(value), nil
}

func (l *Level) read(ref source.Ref) bool {
	if number, ok := ref.Float(); ok { // any notation of JSON, such as 7e1
		*l = Level(number)
		return number >= 0 && number <= 100
	}
	level, err := ParseLevel(ref.Str())
	*l = level
	return err == nil
}

// CueNumber is a decimal cue number in ten-thousandths, so that 9.5 stands
// before 10 and 2.10 is the same cue as 2.1.
type CueNumber int64

const cueUnit = 10_000

// ParseCueNumber reads a cue number: up to six digits, up to four decimals. So
// 1.10 is 1.1, as in the numbers of JSON, and 9.5 stands before 10.
func ParseCueNumber(text string) (CueNumber, error) {
	whole, fraction, _ := strings.Cut(strings.TrimSpace(text), ".")
	w, errW := strconv.ParseUint(whole, 10, 32)
	f, errF := strconv.ParseUint((fraction + "0000")[:4], 10, 32)
	if errW != nil || errF != nil || len(whole) > 6 || len(fraction) > 4 {
		return 0, fmt.Errorf("%q is not a cue number such as 12 or 12.5", source.Shorten(text))
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
	text := ref.Str()
	if value, ok := ref.Float(); ok && strings.ContainsAny(text, "eE-") { // 1.2e1 and -0 are numbers too
		text = strconv.FormatFloat(value+0, 'f', -1, 64)
	}
	number, err := ParseCueNumber(text)
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
	return decode(ref, a.Point)
}

// read takes a point only if all three numbers are told: with one missing it is no place, and
// nought would be one.
func (p *Point) read(ref source.Ref) bool {
	var told [3]bool
	for member := range ref.Items() {
		axis := strings.Index("xyz", member.Key())
		if axis < 0 || len(member.Key()) != 1 {
			continue
		}
		if *[]*float64{&p.X, &p.Y, &p.Z}[axis], told[axis] = member.Float(); !told[axis] {
			return false
		}
	}
	return told == [3]bool{true, true, true}
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
		return Address{}, fmt.Errorf("%q is not an address such as 1.101 (universe.slot)", source.Shorten(text))
	}
	return Address{u, s}, nil
}

// String writes the address as universe.slot.
func (a Address) String() string { return fmt.Sprintf("%d.%d", a.Universe, a.Slot) }

// MaxChannel is the highest channel number a show may use. The limit keeps a
// typing mistake such as 1-99999999 from filling the memory.
const MaxChannel = 99_999

// MaxPart is the highest number of a part of a cue.
const MaxPart = 9999

// span is a range of channels, both ends included.
type span struct{ first, last int }

func parseSpans(text string) ([]span, error) {
	var spans []span
	for _, part := range strings.FieldsFunc(text, isSeparator) {
		s, err := parseSpan(strings.TrimSpace(part))
		if err != nil {
			return nil, err
		}
		spans = append(spans, s)
	}
	if len(spans) == 0 {
		return nil, fmt.Errorf("%q names no channel", source.Shorten(text))
	}
	return spans, nil
}

func isSeparator(r rune) bool { return r == ',' || r == ';' || r == '+' }

func parseSpan(text string) (span, error) {
	from, to, isRange := strings.Cut(text, "-")
	first, err := channelNumber(from)
	if err != nil || !isRange {
		return span{first, first}, err
	}
	last, err := channelNumber(to)
	if err == nil && last < first {
		err = fmt.Errorf("the range %s runs backwards", source.Shorten(text))
	}
	return span{first, last}, err
}

func channelNumber(text string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 1 || n > MaxChannel {
		return 0, fmt.Errorf("%q is not a channel from 1 to %d", source.Shorten(strings.TrimSpace(text)), MaxChannel)
	}
	return n, nil
}

// FormatChannels writes channels the short way, in numeric order: "1-6, 9".
func FormatChannels(channels []int) string { return merged(spansOf(channels)).String() }

// ChannelWords is that with its noun: "channel 4", "channels 1-6, 9".
func ChannelWords(channels []int) string {
	text := FormatChannels(channels)
	if strings.ContainsAny(text, ",-") {
		return "channels " + text
	}
	return "channel " + text
}
