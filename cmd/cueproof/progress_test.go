package main

import (
	"bytes"
	"strings"
	"testing"
	"time"
)

func TestProgressIsSaidLateAndGoesAway(t *testing.T) {
	var out bytes.Buffer
	p := &progress{out: &out, since: time.Now().Add(time.Hour)}
	p.tell("looks", 3, 10)
	if out.Len() > 0 {
		t.Errorf("what takes no time says %q", out.String())
	}
	p.since = time.Now().Add(-time.Hour)
	p.tell("looks", 3, 10)
	p.tell("changes", 0, 0)
	if got := out.String(); got != "\rlooks, 4 of 10\rchanges       " {
		t.Errorf("it says %q", got)
	}
	out.Reset()
	p.done()
	p.tell("looks", 4, 10)
	if got := out.String(); strings.TrimSpace(got) != "" || !strings.HasSuffix(got, "\r") {
		t.Errorf("the line stays: %q", got)
	}
	silent := &progress{since: time.Now().Add(-time.Hour)} // no terminal
	silent.tell("looks", 1, 2)
	silent.done()
}
