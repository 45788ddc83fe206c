package main

import (
	"testing"
	"time"
)

// How long there is until doors, by a clock that stands still.
func TestDoors(t *testing.T) {
	defer func(old func() time.Time) { clock = old }(clock)
	clock = func() time.Time { return time.Date(2026, 11, 29, 10, 5, 0, 0, time.UTC) }
	for _, test := range []struct {
		doors   string
		minutes minutesFlag
		want    float64
		near    bool
		wrong   bool
	}{
		{"", 0, 0, false, false},
		{"", 10, 10, false, false},
		{"10:30", 0, 25, true, false},
		{"10:50", 0, 45, true, false},
		{"10:51", 0, 46, false, false},
		{"10:30", 10, 10, true, false},
		{"10:30", 60, 25, true, false},
		{"10:05", 0, 0, false, true},
		{"09:00", 0, 0, false, true},
		{"half ten", 0, 0, false, true},
	} {
		o := checkOptions{minutes: test.minutes, doors: test.doors}
		minutes, near, err := o.time()
		if minutes != test.want || near != test.near || (err != nil) != test.wrong {
			t.Errorf("doors %q, minutes %v: %v, near %v, %v", test.doors, test.minutes, minutes, near, err)
		}
	}
	clock = func() time.Time { return time.Date(2026, 11, 29, 23, 50, 0, 0, time.UTC) }
	o := checkOptions{doors: "0:20"}
	if minutes, near, err := o.time(); minutes != 30 || !near || err != nil {
		t.Errorf("doors after midnight: %v, %v, %v", minutes, near, err)
	}
}
