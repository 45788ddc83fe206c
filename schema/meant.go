package schema

import (
	"slices"

	"github.com/cueproof/cueproof/internal/source"
)

// Meaning is a word of the small vocabulary in which people say that something
// bold is done on purpose. A rule names the words that answer it; no word answers
// a rule of safety.
type Meaning struct {
	Word  string
	Means string // a clause behind "it is meant that"
}

// Meanings lists the vocabulary. The schemas list the same words; a test says so.
var Meanings = []Meaning{
	{"faces-dark", "faces have no key light"},
	{"faces-dim", "faces stay under what the cameras are set for, but are not dark"},
	{"uneven-faces", "some faces are brighter than others"},
	{"silhouette", "people stand dark before something bright"},
	{"side-light", "a face is lit from one side, or flat from one direction"},
	{"steep-light", "a face is lit from high up"},
	{"coloured-faces", "colour lies on faces"},
	{"mixed-white", "whites of different kelvin meet"},
	{"no-back-light", "people before a dark background have no rim of light"},
	{"strong-back-light", "the light from behind is much stronger than that from the front"},
	{"empty-place-lit", "light waits on a place where nobody is"},
	{"black", "the stage and the stream go to black"},
	{"instant-change", "the light changes at once"},
	{"no-change", "the cue changes nothing that is seen"},
	{"seen-move", "a lamp moves while it is lit"},
	{"sweep", "a running effect, a sweep or a rainbow is seen"},
	{"all-on", "everything shows at once"},
	{"bold-opening", "the opening is red or very bright"},
	{"one-colour-held", "one colour stays for long"},
	{"many-colours", "there are more than two main colours and an accent"},
	{"off-palette", "a colour is not one of the palette"},
	{"steady-light", "the light stays the same for long"},
	{"full-light", "the light is near its maximum for long"},
	{"bright-screen", "a screen or a background is brighter than the faces"},
	{"clear-air", "beams are seen without haze"},
	{"haze-stays", "haze is still there when people speak"},
	{"dark-walk", "somebody walks in the dark"},
}

// Intent is one thing that is done on purpose: at some places, or at all if none
// is named.
type Intent struct {
	At source.Ref `json:"-"`

	Intent string   `json:"intent"` // a word of Meanings
	Places []string `json:"places"`
}

// read takes the word alone as well as the object.
func (i *Intent) read(ref source.Ref) bool {
	if ref.Kind() == source.String {
		i.At, i.Intent = ref.Lasting(), ref.Str()
		return true
	}
	type plain Intent // without this method
	return decode(ref, (*plain)(i))
}

// For reports whether the intent is meant for a place. A place without a name is
// no place, and only an intent for all places is meant for it.
func (i *Intent) For(place string) bool {
	return len(i.Places) == 0 || slices.Contains(i.Places, place)
}
