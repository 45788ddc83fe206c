package main

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// minutesFlag is a time in minutes as people write it: 10, 2.5, 10min, "10 min".
type minutesFlag float64

func (m *minutesFlag) String() string {
	if *m == 0 {
		return ""
	}
	return strconv.FormatFloat(float64(*m), 'f', -1, 64)
}

// Type is what the help calls such a value.
func (m *minutesFlag) Type() string { return "time" }

// Set reads what was given.
func (m *minutesFlag) Set(text string) error {
	number := strings.TrimSpace(strings.ToLower(text))
	for _, unit := range []string{"minutes", "minute", "mins", "min", "m"} {
		if rest, ok := strings.CutSuffix(number, unit); ok {
			number = strings.TrimSpace(rest)
			break
		}
	}
	value, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
	const most = 10_000
	if err != nil || !(value > 0) || value > most {
		return fmt.Errorf("%q is no time; it is a number of minutes such as 10, 2.5 or 10min", text)
	}
	*m = minutesFlag(value)
	return nil
}

// nearDoors is when nobody should be sent up a ladder any more, in minutes before
// doors (common practice, no source).
const nearDoors = 45

// time is how many minutes there are, 0 for no end, and whether doors are near.
func (o *checkOptions) time() (minutes float64, near bool, err error) {
	minutes = float64(o.minutes)
	if o.doors == "" {
		return minutes, false, nil
	}
	doors, err := time.Parse("15:04", o.doors)
	if err != nil {
		return 0, false, usagef("--doors %s: this is no time of day; write it as 10:30", o.doors)
	}
	now := clock()
	left := float64(doors.Hour()*60+doors.Minute()) - float64(now.Hour()*60+now.Minute())
	const day, half = 24 * 60, 12 * 60
	if left < -half { // doors after midnight
		left += day
	}
	if left <= 0 {
		return 0, false, usagef("--doors %s: that was %.0f minutes ago by the clock of this machine (%s); use --minutes to say how long there is", o.doors, -left, now.Format("15:04"))
	}
	if minutes == 0 || left < minutes {
		minutes = left
	}
	return minutes, left <= nearDoors, nil
}

// clock is the time of day; tests set it.
var clock = time.Now
