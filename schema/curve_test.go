package schema

import "testing"

// TestCurve holds the usual dimmer curves to what the schema tells of them.
func TestCurve(t *testing.T) {
	for _, c := range []struct{ source, told, toldOf, shape, of string }{
		{"tungsten", "", "", "square", "light"}, {"tungsten", "linear", "", "linear", "voltage"},
		{"tungsten", "s", "", "s", "voltage"}, {"tungsten", "square", "", "square", "light"},
		{"tungsten", "", "voltage", "linear", "voltage"}, {"tungsten", "", "light", "square", "light"},
		{"tungsten", "linear", "light", "linear", "light"}, {"tungsten", "square", "voltage", "square", "voltage"},
		{"white-led", "", "", "linear", "light"}, {"white-led", "s", "", "s", "light"}, {"colour-led", "linear", "voltage", "linear", "light"},
	} {
		if shape, of := (&Type{Source: c.source, DimmerCurve: c.told, CurveOf: c.toldOf}).Curve(); shape != c.shape || of != c.of {
			t.Errorf("%+v: %s of %s", c, shape, of)
		}
	}
}
