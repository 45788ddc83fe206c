package schema

import (
	"github.com/cueproof/cueproof/internal/source"
)

// Known says how values of an entity are known, by their keys. What is not in it
// was read.
type Known map[string]Knowing

// Knowing is how one value is known: in a word (read, measured, derived,
// inferred, assumed), or as assumed within a range.
type Knowing struct {
	Word      string
	Low, High float64 // of what is assumed within a range; equal otherwise
}

// Of returns how the value under a key is known: "read" if nothing is said.
func (k Known) Of(key string) Knowing {
	if knowing, said := k[key]; said {
		return knowing
	}
	return Knowing{Word: "read"}
}

func (k *Knowing) read(ref source.Ref) bool {
	if ref.Kind() == source.String {
		k.Word = ref.Str()
		return k.Word != ""
	}
	var bounds []float64
	if !decode(ref, &bounds) || len(bounds) != 2 {
		return false
	}
	*k = Knowing{"assumed", min(bounds[0], bounds[1]), max(bounds[0], bounds[1])}
	return true
}
