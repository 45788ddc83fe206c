package history

import (
	"fmt"
	"strings"
	"time"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
)

// When a show looks like the wrong file. All of it is common practice, no source.
const (
	// oldestExport is how many days old an export may be: where there is a service
	// every week, one of seven days ago is that of last week.
	oldestExport = 6
	// fewestLost and leastLostPct are how many fixtures go missing before anybody is
	// told: a lamp that is on loan is no reason to ask for another file.
	fewestLost   = 5
	leastLostPct = 5
	// leastLeftPct is what has to be left of a file, in percent of its length.
	leastLeftPct = 50
)

// Problems says what looks as if the show were the wrong file: last week's, an old
// one, one for another day, one that lost fixtures or its end. It is to be asked
// before [History.Add].
func (h *History) Problems(now Run) []finding.Finding {
	t := tonight{now: now}
	t.old()
	t.otherDay()
	if then, ok := h.otherDay(now.Date); ok {
		t.sameAs(then)
	}
	if last, ok := h.last(); ok {
		t.fewer(last)
		t.cut(last)
	}
	return t.found
}

// otherDay is the last run that was not on this day.
func (h *History) otherDay(day string) (r run, ok bool) {
	for i := len(h.kept.Runs) - 1; i >= 0; i-- {
		if h.kept.Runs[i].Date != day {
			return h.kept.Runs[i], true
		}
	}
	return run{}, false
}

type tonight struct {
	now   Run
	found []finding.Finding
}

// say adds a finding about the show, at one of its keys or at its start.
func (t *tonight) say(rule string, level finding.Level, place source.Place, message, hint string) {
	t.found = append(t.found, finding.Finding{
		Rule: rule, Level: level, Verdict: finding.Fail, Consequence: finding.Dark,
		Subjects: []finding.Subject{{Kind: "show"}}, Message: message, Hint: hint, Place: place,
	})
}

// keyOf is the place of a value of the show, or of the show.
func keyOf(show *schema.Show, key string) source.Place {
	if show.At.IsZero() {
		return source.Place{}
	}
	if at, ok := show.At.Get(key); ok {
		return at.Place()
	}
	return show.At.Place()
}

func (t *tonight) old() {
	at, err := time.Parse(time.RFC3339, strings.ToUpper(t.now.Show.ExportedAt))
	if err != nil {
		return // not given, or said already
	}
	switch days := daysBetween(at.Format(time.DateOnly), t.now.Date); {
	case days > oldestExport:
		t.say("file/show-old", finding.Warning, keyOf(t.now.Show, "exported_at"),
			fmt.Sprintf("The show was exported %d days ago, on %s; %d days is the most that is expected of tonight's.", days, at.Format(time.DateOnly), oldestExport),
			"export the show again, or take the newest file")
	case days < -1: // a day apart may be a matter of time zones
		t.say("file/show-old", finding.Warning, keyOf(t.now.Show, "exported_at"),
			fmt.Sprintf("The show says that it was exported on %s, which is %d days after today, %s: one of two clocks is wrong.", at.Format(time.DateOnly), -days, t.now.Date),
			"look at the clocks of this computer and of the one that exported")
	}
}

func (t *tonight) otherDay() {
	if !isDay(t.now.Show.Date) || t.now.Show.Date == t.now.Date {
		return
	}
	place := keyOf(t.now.Show, "date")
	switch days := daysBetween(t.now.Show.Date, t.now.Date); {
	case days > 0:
		t.say("file/show-other-day", finding.Warning, place,
			fmt.Sprintf("The show is for %s, %s ago; today is %s.", t.now.Show.Date, spelling.Count(days, "day"), t.now.Date),
			"take tonight's file, or put the date right")
	default:
		t.say("file/show-other-day", finding.Note, place,
			fmt.Sprintf("The show is for %s, in %s; today is %s. That is right if you check ahead.", t.now.Show.Date, spelling.Count(-days, "day"), t.now.Date),
			"nothing, if you check ahead")
	}
}

// sameAs complains of last week's file. One that is for today or later may well
// be checked on two days.
func (t *tonight) sameAs(then run) {
	ahead := isDay(t.now.Show.Date) && t.now.Show.Date >= t.now.Date
	if ahead || showHash(t.now.Files) != then.Show {
		return
	}
	t.say("file/show-as-last-time", finding.Warning, keyOf(t.now.Show, "date"),
		fmt.Sprintf("This is the very file that was checked on %s, and today is %s: not a letter has changed.", then.Date, t.now.Date),
		"export tonight's show, or take the newest file")
}

func (t *tonight) fewer(last run) {
	have := len(t.now.Show.Patch)
	lost := last.Fixtures - have
	if lost < fewestLost || 100*lost < leastLostPct*last.Fixtures {
		return
	}
	place := keyOf(t.now.Show, "patch")
	if at, ok := t.now.Show.ReadFrom["patch"]; ok && !at.IsZero() {
		place = at.Place()
	}
	t.say("file/show-fewer-fixtures", finding.Warning, place,
		fmt.Sprintf("The patch has %d fixtures, %d fewer than last time (%s).", have, lost, last.Date),
		"see whether the export has all of the patch; if the rig was made smaller, all is well")
}

func (t *tonight) cut(last run) {
	before := map[string]fileKept{}
	for _, file := range last.Files {
		before[file.Name] = file
	}
	for _, file := range t.now.Files {
		now := fileOf(file)
		then, known := before[now.Name]
		noEnd := then.Ended && !now.Ended && now.Bytes < then.Bytes
		if !known || !noEnd && 100*now.Bytes >= leastLeftPct*then.Bytes {
			continue
		}
		why := fmt.Sprintf("it has %d bytes, and had %d last time (%s)", now.Bytes, then.Bytes, last.Date)
		if noEnd {
			why += ", and its last line has no end as it had then"
		}
		t.say("file/show-cut-short", finding.Warning, source.Place{File: file, Start: len(file.Text), Stop: len(file.Text)},
			fmt.Sprintf("The file %s may be cut off: %s.", baseName(file.Name), why),
			"look at its last lines, and export again if something is missing")
		t.found[len(t.found)-1].Subjects = []finding.Subject{{Kind: "file", Name: baseName(file.Name)}}
	}
}

// daysBetween is how many days after from the day to is; both are days.
func daysBetween(from, to string) int {
	a, errA := time.Parse(time.DateOnly, from)
	b, errB := time.Parse(time.DateOnly, to)
	if errA != nil || errB != nil {
		return 0
	}
	return int((b.Unix() - a.Unix()) / (24 * 60 * 60)) // both are midnight in UTC
}
