package outcome

// Receipt says what was checked, so that somebody with a file in hand can ask whether
// it is the one.
type Receipt struct {
	Number  string // short enough to be said over a headset; of the same files by the same rules it is the same
	Day     string // of the run, as 2026-12-31
	Version string // of the program
	Edition int    // of the rules that looked
	Rules   string // a digest of the rules and limits that looked
	Verdict Readiness
	Files   []Digest // by name
	Orders  []string // what was said to be done, in its order
}

// Digest is a file that was read. Its name is told from the folder of the show.
type Digest struct {
	Name   string
	SHA256 string // of its text in UTF-8, without a byte order mark
}
