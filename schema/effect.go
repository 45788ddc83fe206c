package schema

import "strconv"

// Label names the effect for an order to a person: "chase at 3 Hz".
func (e Effect) Label() string {
	if e.RateHz == nil {
		return e.Kind
	}
	return e.Kind + " at " + strconv.FormatFloat(*e.RateHz, 'g', 4, 64) + " Hz"
}
