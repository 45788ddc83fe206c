package rules

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/expr-lang/expr/vm"

	"github.com/cueproof/cueproof/internal/spelling"
)

// template is a sentence with expressions in braces: "{look.peak_lx} lx reach
// the front row". A doubled brace is a brace.
type template struct {
	pieces []piece
}

type piece struct {
	text string      // as it is
	expr *expression // or what stands in the braces
}

func (env environment) compileTemplate(text string) (*template, *mistake) {
	t := &template{}
	var plain strings.Builder
	for i := 0; i < len(text); {
		switch {
		case strings.HasPrefix(text[i:], "{{"), strings.HasPrefix(text[i:], "}}"):
			plain.WriteByte(text[i])
			i += 2
		case text[i] == '{':
			end := strings.IndexByte(text[i:], '}')
			if end < 0 {
				return nil, &mistake{len([]rune(text[:i])), "this brace is never closed"}
			}
			inner := text[i+1 : i+end]
			e, m := env.compile(inner, reflect.Invalid)
			if m != nil {
				m.offset += len([]rune(text[:i+1]))
				return nil, m
			}
			t.pieces = append(t.pieces, piece{text: plain.String()}, piece{expr: e})
			plain.Reset()
			i += end + 1
		case text[i] == '}':
			return nil, &mistake{len([]rune(text[:i])), "this brace was never opened; write }} for a brace"}
		default:
			plain.WriteByte(text[i])
			i++
		}
	}
	t.pieces = append(t.pieces, piece{text: plain.String()})
	return t, nil
}

// fill writes the sentence. A value that is unknown is written as "unknown".
func (t *template) fill(machine *vm.VM, env map[string]any) string {
	if t == nil {
		return ""
	}
	var b strings.Builder
	last := "" // value, behind which its noun stands: one stop, two stops
	for _, p := range t.pieces {
		if p.expr == nil {
			b.WriteString(spelling.After(last, p.text))
			continue
		}
		value, missing := p.expr.run(machine, env)
		if last = "unknown"; len(missing) == 0 && value != nil {
			last = FormatValue(value)
		}
		b.WriteString(last)
	}
	return b.String()
}

// FormatValue writes a value for people. Numbers keep what matters: about three
// digits, so that no processor's last bit shows.
func FormatValue(value any) string {
	v := reflect.ValueOf(value)
	switch {
	case !v.IsValid():
		return "unknown"
	case v.Kind() == reflect.Pointer && v.IsNil():
		return "unknown"
	case v.Kind() == reflect.Pointer && v.Elem().Kind() != reflect.Struct:
		return FormatValue(v.Elem().Interface())
	case v.CanFloat():
		return FormatNumber(v.Float())
	case v.Kind() == reflect.Bool:
		if v.Bool() {
			return "yes"
		}
		return "no"
	case v.Kind() == reflect.Slice:
		words := make([]string, v.Len())
		for i := range words {
			words[i] = FormatValue(v.Index(i).Interface())
		}
		return strings.Join(words, ", ")
	default:
		if labelled, ok := value.(interface{ Label() string }); ok {
			return labelled.Label()
		}
		return fmt.Sprint(value)
	}
}

// FormatNumber rounds to about three digits, at most four decimals, and writes no
// trailing zeros.
func FormatNumber(f float64) string {
	decimals := 0
	switch size := math.Abs(f); {
	case size < 0.1:
		decimals = 4
	case size < 1:
		decimals = 3
	case size < 10:
		decimals = 2
	case size < 100:
		decimals = 1
	}
	text := strconv.FormatFloat(f, 'f', decimals, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		return "0"
	}
	return text
}
