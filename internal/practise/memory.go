package practise

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"
)

// MemoryName is the file that remembers, beside the folders of exercises. It knows rules
// and days and nobody's name.
const MemoryName = "cueproof-practice.json"

// comesBack is after how many days what was missed comes back, each time that it was found
// after all: one, three and eight weeks (common practice, no source).
var comesBack = []int{7, 21, 56}

// Memory is what is kept from exercise to exercise.
type Memory struct {
	Format     int        `json:"format"`
	Exercises  []Exercise `json:"exercises"`
	Remembered []Reminder `json:"remembered"`
}

// Exercise is a copy of a show with faults in it. Said are the keys of what was said of the
// sound show.
type Exercise struct {
	Folder string   `json:"folder"`
	Day    string   `json:"day"`
	Seed   uint64   `json:"seed"`
	Said   []string `json:"said"`
	Faults []Fault  `json:"faults"`

	Asked  int      `json:"-"` // for how many faults
	Passed []string `json:"-"` // rules that cannot be broken in this show by themselves
}

// Reminder is a rule that was missed, and when it comes back.
type Reminder struct {
	Rule  string `json:"rule"`
	Times int    `json:"times"` // how often it was found since
	Due   string `json:"due"`
}

// ReadMemory reads what was kept; nothing is a memory without anything in it.
func ReadMemory(data []byte) (*Memory, error) {
	m := &Memory{Format: 1}
	if len(bytes.TrimSpace(data)) == 0 {
		return m, nil
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(m); err != nil {
		return nil, fmt.Errorf("it is no file of exercises of ours: %w", err)
	}
	if m.Format != 1 {
		return nil, fmt.Errorf("it is a file of exercises of format %d; this program knows 1", m.Format)
	}
	for _, r := range m.Remembered {
		if _, err := time.Parse(time.DateOnly, r.Due); err != nil || r.Times < 0 {
			return nil, errors.New("it holds a day that is none")
		}
	}
	return m, nil
}

// Bytes is the file.
func (m *Memory) Bytes() ([]byte, error) {
	text, err := json.MarshalIndent(m, "", "  ")
	return append(text, '\n'), err
}

// Exercise finds the exercise of a folder.
func (m *Memory) Exercise(folder string) *Exercise {
	for i := range m.Exercises {
		if m.Exercises[i].Folder == folder {
			return &m.Exercises[i]
		}
	}
	return nil
}

// Due are the rules that come back by a day, the longest waiting first.
func (m *Memory) Due(day string) []string {
	list := slices.Clone(m.Remembered)
	slices.SortStableFunc(list, func(a, b Reminder) int { return bytes.Compare([]byte(a.Due), []byte(b.Due)) })
	var rules []string
	for _, r := range list {
		if r.Due <= day {
			rules = append(rules, r.Rule)
		}
	}
	return rules
}

// missed remembers a rule from the first day on.
func (m *Memory) missed(rule, day string) {
	m.forget(rule)
	m.Remembered = append(m.Remembered, Reminder{Rule: rule, Due: after(day, comesBack[0])})
}

// found puts off a rule that came back and was found, and forgets it after the last time.
func (m *Memory) found(rule, day string) {
	for i := range m.Remembered {
		r := &m.Remembered[i]
		if r.Rule != rule || r.Due > day {
			continue
		}
		if r.Times++; r.Times >= len(comesBack) {
			m.forget(rule)
			return
		}
		r.Due = after(day, comesBack[r.Times])
		return
	}
}

func (m *Memory) forget(rule string) {
	m.Remembered = slices.DeleteFunc(m.Remembered, func(r Reminder) bool { return r.Rule == rule })
}

func after(day string, days int) string {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		panic(err) // days are checked where they come in
	}
	return t.AddDate(0, 0, days).Format(time.DateOnly)
}
