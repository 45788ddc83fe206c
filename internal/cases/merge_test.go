package cases

import "testing"

func TestMerge(t *testing.T) {
	for _, c := range []struct{ base, patch, want string }{
		// RFC 7396, appendix A, as far as there are no lists of named things in it.
		{`{"a":"b"}`, `{"a":"c"}`, `{"a":"c"}`},
		{`{"a":"b"}`, `{"b":"c"}`, `{"a":"b","b":"c"}`},
		{`{"a":"b"}`, `{"a":null}`, `{}`},
		{`{"a":"b","b":"c"}`, `{"a":null}`, `{"b":"c"}`},
		{`{"a":["b"]}`, `{"a":"c"}`, `{"a":"c"}`},
		{`{"a":"c"}`, `{"a":["b"]}`, `{"a":["b"]}`},
		{`{"a":{"b":"c"}}`, `{"a":{"b":"d","c":null}}`, `{"a":{"b":"d"}}`},
		{`{"a":[{"b":"c"}]}`, `{"a":[1]}`, `{"a":[1]}`},
		{`["a","b"]`, `["c","d"]`, `["c","d"]`},
		{`{"a":"b"}`, `["c"]`, `["c"]`},
		{`{"e":null}`, `{"a":1}`, `{"a":1,"e":null}`},
		{`{}`, `{"a":{"bb":{"ccc":null}}}`, `{"a":{"bb":{}}}`},
		// Lists of named things.
		{`[{"name":"x","a":1},{"name":"y"}]`, `[{"name":"y","b":2},{"name":"z"}]`, `[{"a":1,"name":"x"},{"b":2,"name":"y"},{"name":"z"}]`},
		{`[{"name":"x","a":1},{"name":"y"}]`, `[{"name":"x","*":null}]`, `[{"name":"y"}]`},
		{`[{"name":"x","a":1}]`, `[{"name":"x","a":null}]`, `[{"name":"x"}]`},
		{`[{"channel":1}]`, `[{"channel":1,"+":true,"name":"second"}]`, `[{"channel":1},{"channel":1,"name":"second"}]`},
		{`[{"channel":1},{"channel":2}]`, `[{"*":null},{"channel":3}]`, `[{"channel":3}]`},
		{`[{"channel":1,"name":"x"}]`, `[{"channel":2,"name":"x"}]`, `[{"channel":1,"name":"x"},{"channel":2,"name":"x"}]`}, // channels first
		{`[{"cue":12.50}]`, `[{"cue":12.50,"in_s":1}]`, `[{"cue":12.50,"in_s":1}]`},                                         // as written
		{`[{"name":"x","set":[{"channels":"1"},{"channels":"2"}]}]`, `[{"name":"x","set":[{"channels":"3"}]}]`, `[{"name":"x","set":[{"channels":"3"}]}]`},
		{`[{"name":"x"}]`, `[]`, `[]`},
	} {
		got, err := Merge([]byte(c.base), []byte(c.patch))
		if err != nil || string(got) != c.want {
			t.Errorf("%s with %s is %s (%v), want %s", c.base, c.patch, got, err, c.want)
		}
	}
	for _, bad := range []string{"", "{", "{} {}", "[1,]"} {
		if _, err := Merge([]byte(`{}`), []byte(bad)); err == nil {
			t.Errorf("%q is taken", bad)
		}
	}
}
