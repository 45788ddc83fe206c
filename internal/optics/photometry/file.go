package photometry

import "strings"

// File is a photometric file: what both formats say, and the rest of its own format in LM63 or EULUMDAT.
type File struct {
	Format    string // "LM-63" or "EULUMDAT"
	Luminaire string
	// LampLumens is the rated flux of all lamps together. 0 when the photometry is absolute (LM-63) or the file gives none.
	LampLumens float64
	Absolute   bool    // measured as a whole, without a lamp rating
	Watts      float64 // input power; 0 is unknown
	// Opening is the size of the luminous opening in metres along its own x (LM-63 length), y (width) and z (height).
	Opening Vec

	LM63     *LM63
	EULUMDAT *EULUMDAT

	Web *Web // the distribution; nil when the reader returned an error
}

// Efficiency is luminaire flux over lamp flux. ok is false for absolute photometry and without a distribution.
func (f *File) Efficiency() (ratio float64, ok bool) {
	if f.Web == nil || f.Absolute || !(f.LampLumens > 0) {
		return 0, false
	}
	return result(f.Web.Flux() / f.LampLumens)
}

// Parse reads a photometric file of either format: LM-63 when its first line says so or a line begins with TILT=,
// otherwise EULUMDAT. See ParseLM63 for what comes back.
func Parse(data []byte, mode Mode) (*File, []Problem, error) {
	head := data[:min(len(data), maxBytes)]
	for i, line := range textLines(head) {
		if _, tilt := tiltValue(line); tilt || i == 0 && strings.HasPrefix(strings.ToUpper(strings.TrimSpace(line)), "IES") {
			return ParseLM63(data, mode)
		}
	}
	return ParseEULUMDAT(data, mode)
}
