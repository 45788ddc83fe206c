package source

// Edit is one value of a show to be changed: a field of the entity that was
// read at At. It is a proposal; nothing here writes anything.
type Edit struct {
	At    Ref    // the entity: a fixture, a cue, a setting, a camera...
	Field string // the name of its field in the show file
	Value any    // float64, string or bool; nil takes the field away
	// Only limits a change of a setting to some of its channels; a change of a
	// field that belongs to settings, made to a cue, adds a setting for them.
	Only []int
}
