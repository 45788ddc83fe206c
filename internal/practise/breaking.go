package practise

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/expr-lang/expr"
)

// namedKinds are things with names that people say.
var namedKinds = []string{"place", "camera", "surface", "segment"}

// Judge holds all rules against the files of a show.
type Judge func(Files) ([]finding.Finding, error)

// Fault is a fault that was put into a show.
type Fault struct {
	Rule   string   `json:"rule"`
	Where  string   `json:"where"`           // the thing that was changed, such as cue 12
	Keys   []string `json:"keys"`            // of the findings that it makes
	Names  []string `json:"names,omitempty"` // of the things that these are about
	Says   string   `json:"says"`            // the first of them, in words
	Hints  int      `json:"hints,omitempty"` // how many were asked for
	found  []finding.Finding
	Others []string `json:"-"`                // rules that cannot but speak too, and do
	Named  bool     `json:"named,omitempty"`  // somebody said in words what it is
	Missed bool     `json:"missed,omitempty"` // it was there at a look
	Found  bool     `json:"found,omitempty"`
}

// ErrSound is that a show cannot be broken so: none of its things is of the kind, or other
// rules would speak.
var ErrSound = errors.New("this show cannot be broken so")

// most is how many things of a show are tried in turn before a rule is given up.
const most = 16

// Break puts a fault into a show: the first thing, in an order that follows from the seed,
// with which this rule and no other has something new to say. Said are the keys of what is
// said of the show already.
func Break(files Files, said map[string]bool, recipe *Recipe, judge Judge, seed uint64) (Files, *Fault, error) {
	d, err := read(files)
	if err != nil {
		return nil, nil, err
	}
	_, things := d.list(recipe.Each)
	r := rand.New(rand.NewPCG(seed, uint64(len(things))))
	tried := 0
	var others []string
	for _, i := range r.Perm(len(things)) {
		d, err := read(files) // its edits begin anew
		if err != nil {
			return nil, nil, err
		}
		_, things := d.list(recipe.Each)
		ok, err := d.apply(recipe, things[i])
		if err != nil { // an expression that does not fit this thing; a recipe that fits none is told
			others = append(others, err.Error())
			continue
		}
		if !ok || len(d.edits) == 0 {
			continue
		}
		if tried++; tried > most {
			break
		}
		changed := d.changed(files)
		found, err := judge(changed)
		if err != nil {
			return nil, nil, err
		}
		planted, other := spoken(recipe, said, found)
		if planted != nil && other == "" {
			planted.Where, planted.found = nameOf(recipe.Each, things[i]), found
			return changed, planted, nil
		}
		others = append(others, nameOf(recipe.Each, things[i])+": "+other)
	}
	return nil, nil, fmt.Errorf("%w (%s, %d of %d things tried: %s)", ErrSound, recipe.Rule, tried, len(things), strings.Join(others[:min(3, len(others))], "; "))
}

// spoken is what the rule has found anew, and what else was found anew: a fault is to be
// learned by itself.
func spoken(recipe *Recipe, said map[string]bool, found []finding.Finding) (*Fault, string) {
	planted := &Fault{Rule: recipe.Rule}
	for i := range found {
		f := &found[i]
		key := f.Key()
		switch {
		case said[key]:
		case f.Rule == recipe.Rule && f.Verdict == finding.Fail:
			if planted.Keys == nil {
				planted.Says = f.Message
			}
			planted.Keys = append(planted.Keys, key)
			for _, subject := range f.Subjects {
				if slices.Contains(namedKinds, subject.Kind) && !slices.Contains(planted.Names, subject.Name) {
					planted.Names = append(planted.Names, subject.Name)
				}
			}
		case f.Verdict == finding.Fail && (slices.Contains(recipe.Also, f.Rule) || slices.Contains(recipe.May, f.Rule)):
			if !slices.Contains(planted.Others, f.Rule) {
				planted.Others = append(planted.Others, f.Rule)
			}
		case f.Verdict == finding.Fail && f.Rule != recipe.Rule:
			return planted, f.Rule + " speaks too: " + f.Message
		}
	}
	if len(planted.Keys) == 0 {
		return nil, "nothing is said"
	}
	return planted, ""
}

// apply makes the changes of a recipe to a thing; ok is false if it is none of those meant.
func (d *document) apply(recipe *Recipe, thing source.Ref) (ok bool, err error) {
	e := d.scope(thing)
	if ok, err := e.is(recipe.Where); !ok || err != nil {
		return false, err
	}
	if err := d.edit(recipe.Each, &recipe.Edit, thing, e); err != nil {
		return false, err
	}
	for i := range recipe.Then {
		edit := &recipe.Then[i]
		_, things := d.list(edit.Each)
		for _, other := range things {
			e := d.scope(other)
			e["chosen"] = thing.Any()
			ok, err := e.is(edit.Where)
			if err != nil {
				return false, err
			}
			if !ok {
				continue
			}
			if err := d.edit(edit.Each, edit, other, e); err != nil {
				return false, err
			}
		}
	}
	return true, nil
}

func (d *document) edit(name string, edit *Edit, thing source.Ref, e scope) error {
	if edit.Remove {
		d.cut(thing)
		return nil
	}
	change, err := e.values(edit.Change)
	if err != nil {
		return err
	}
	for _, key := range slices.Sorted(maps.Keys(change)) {
		if err := d.set(thing, key, change[key]); err != nil {
			return err
		}
	}
	if len(edit.Add) > 0 {
		entry, err := e.values(edit.Add)
		if err != nil {
			return err
		}
		maps.DeleteFunc(entry, func(_ string, value any) bool { return value == nil })
		text, err := json.Marshal(entry)
		if err != nil {
			return err
		}
		list, _ := d.list(name)
		d.add(list, string(text))
	}
	return d.settings(edit.Settings, thing, e)
}

// settings adds settings to a cue, behind those that it has: the last one counts.
func (d *document) settings(list []Settings, cue source.Ref, e scope) error {
	var rows []any
	for _, one := range list {
		row, err := e.values(one.Set)
		if err != nil {
			return err
		}
		if one.Lamps != "" {
			channels, err := d.lamps(one.Lamps, cue)
			if err != nil {
				return err
			}
			if channels == "" {
				continue
			}
			row["channels"] = channels
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		return nil
	}
	at, there := cue.Get("set")
	if !there {
		return d.set(cue, "set", rows)
	}
	for _, row := range rows {
		text, err := json.Marshal(row)
		if err != nil {
			return err
		}
		d.add(at, string(text))
	}
	return nil
}

// lamps selects fixtures, as people write a selection.
func (d *document) lamps(where string, cue source.Ref) (string, error) {
	_, patch := d.list("patch")
	var channels []int
	for _, fixture := range patch {
		e := d.scope(fixture)
		e["cue"] = cue.Any()
		ok, err := e.is(where)
		if err != nil {
			return "", err
		}
		if number, isNumber := fixture.Get("channel"); ok && isNumber {
			n, _ := number.Float()
			channels = append(channels, int(n))
		}
	}
	slices.Sort(channels)
	return selection(channels), nil
}

// selection writes channels in order as people do: 1-16, 21.
func selection(channels []int) string {
	var parts []string
	for i := 0; i < len(channels); {
		last := i
		for last+1 < len(channels) && channels[last+1] == channels[last]+1 {
			last++
		}
		part := strconv.Itoa(channels[i])
		if last > i {
			part += "-" + strconv.Itoa(channels[last])
		}
		parts = append(parts, part)
		i = last + 1
	}
	return strings.Join(parts, ", ")
}

// scope is what an expression can name.
type scope map[string]any

func (d *document) scope(it source.Ref) scope {
	e := scope{"it": it.Any()}
	for _, name := range lists {
		if name == "show" || name == "room" {
			if at, things := d.list(name); len(things) > 0 {
				e[name] = at.Any()
			}
			continue
		}
		at, _ := d.list(name)
		if e[name] = at.Any(); at.IsZero() {
			e[name] = []any{}
		}
	}
	e["segment"] = func(cue map[string]any) map[string]any { return segmentOf(e["order"], cue) }
	e["type_of"] = func(fixture map[string]any) map[string]any { return named(e["types"], "name", fixture["type"]) }
	e["hung"] = func(fixture map[string]any) map[string]any { return d.hung(fixture) }
	e["levels"] = func(cue map[string]any, purpose string) []any { return d.levels(e["patch"], cue, purpose) }
	e["lamps"] = func(purpose string, at any) []any {
		channels := []any{}
		for _, fixture := range objects(e["patch"]) {
			if fixture["purpose"] == purpose && fixture["aimed_at"] == at {
				channels = append(channels, fixture["channel"])
			}
		}
		return channels
	}
	e["song"] = func(cue map[string]any) int { // which song of the evening, from 0
		songs := slices.DeleteFunc(objects(e["order"]), func(s map[string]any) bool { return s["kind"] != "song" })
		of := segmentOf(e["order"], cue)
		return slices.IndexFunc(songs, func(s map[string]any) bool { return s["name"] == of["name"] })
	}
	e["speech"], e["speakers"], e["spare"] = speech, speakers(e["order"]), spare(e["patch"])
	return e
}

// speech are the kinds of segments in which somebody speaks.
var speech = []any{"welcome", "reading", "prayer", "talk", "interview", "communion", "notices", "closing"}

// speakers are the places of those who speak.
func speakers(order any) []any {
	list := []any{}
	for _, segment := range objects(order) {
		people, _ := segment["people"].([]any)
		if slices.Contains(speech, segment["kind"]) {
			list = append(list, people...)
		}
	}
	return list
}

// spare is the first address of a universe that nobody uses.
func spare(patch any) string {
	most := 0
	for _, fixture := range objects(patch) {
		universe, _, _ := strings.Cut(fmt.Sprint(fixture["address"]), ".")
		if n, err := strconv.Atoi(universe); err == nil {
			most = max(most, n)
		}
	}
	return fmt.Sprint(most+1, ".1")
}

// hung is the point at which a fixture hangs: its own, or that on its bar.
func (d *document) hung(fixture map[string]any) map[string]any {
	if at, ok := fixture["hung_at"].(map[string]any); ok {
		return at
	}
	_, bars := d.list("bars")
	for _, ref := range bars {
		bar, _ := ref.Any().(map[string]any)
		from, ok1 := bar["from"].(map[string]any)
		to, ok2 := bar["to"].(map[string]any)
		if bar["name"] != fixture["hung_on"] || !ok1 || !ok2 {
			continue
		}
		along, _ := fixture["hung_at_m"].(float64)
		var start, way [3]float64
		long := 0.0
		for i, axis := range []string{"x", "y", "z"} {
			a, _ := from[axis].(float64)
			b, _ := to[axis].(float64)
			start[i], way[i] = a, b-a
			long += way[i] * way[i]
		}
		part := along / max(math.Sqrt(long), 1e-9)
		if bar["zero"] == "middle" {
			part += 0.5
		}
		return map[string]any{"x": start[0] + part*way[0], "y": start[1] + part*way[1], "z": start[2] + part*way[2]}
	}
	return map[string]any{}
}

// levels are those that a cue sets for fixtures of a purpose, one for each setting.
func (d *document) levels(patch any, cue map[string]any, purpose string) []any {
	list := []any{}
	settings, _ := cue["set"].([]any)
	for _, one := range settings {
		setting, _ := one.(map[string]any)
		text, _ := setting["channels"].(string)
		level, there := setting["level"].(float64)
		if there && slices.ContainsFunc(objects(patch), func(fixture map[string]any) bool {
			number, ok := fixture["channel"].(float64)
			return ok && fixture["purpose"] == purpose && d.selects(text, number, 0)
		}) {
			list = append(list, level)
		}
	}
	return list
}

// selects reports whether a selection such as "1-4, beams" has a channel. Groups may hold
// groups, though not for ever.
func (d *document) selects(text string, channel float64, deep int) bool {
	const deepest = 4
	for part := range strings.SplitSeq(text, ",") {
		part = strings.TrimSpace(part)
		first, last, _ := strings.Cut(part+"-"+part, "-")
		if a, b, isRange := strings.Cut(part, "-"); isRange {
			first, last = a, b
		}
		from, err1 := strconv.ParseFloat(strings.TrimSpace(first), 64)
		to, err2 := strconv.ParseFloat(strings.TrimSpace(last), 64)
		if err1 == nil && err2 == nil {
			if from <= channel && channel <= to {
				return true
			}
			continue
		}
		_, shows := d.list("show")
		for _, show := range shows {
			groups, _ := show.Get("groups")
			if group, ok := groups.Get(part); ok && deep < deepest {
				if inner, ok := group.Any().(string); ok && d.selects(inner, channel, deep+1) {
					return true
				}
			}
		}
	}
	return false
}

// objects are the entries of a list that are objects.
func objects(list any) (all []map[string]any) {
	entries, _ := list.([]any)
	for _, entry := range entries {
		if object, ok := entry.(map[string]any); ok {
			all = append(all, object)
		}
	}
	return all
}

// segmentOf is the entry of the running order under which a cue falls.
func segmentOf(order any, cue map[string]any) map[string]any {
	if said := named(order, "name", cue["segment"]); len(said) > 0 {
		return said
	}
	number, _ := cue["cue"].(float64)
	found := map[string]any{}
	best := -1.0
	for _, object := range objects(order) {
		if start, ok := object["start_cue"].(float64); ok && start <= number && start > best {
			found, best = object, start
		}
	}
	return found
}

func named(list any, key string, name any) map[string]any {
	for _, object := range objects(list) {
		if name != nil && object[key] == name {
			return object
		}
	}
	return map[string]any{}
}

// is says whether a condition holds; none holds always.
func (e scope) is(condition string) (bool, error) {
	if condition == "" {
		return true, nil
	}
	value, err := e.value(condition)
	if err != nil {
		return false, err
	}
	ok, isBool := value.(bool)
	if !isBool {
		return false, fmt.Errorf("%q is no condition: it gives %v", condition, value)
	}
	return ok, nil
}

func (e scope) value(text string) (any, error) {
	program, err := expr.Compile(text, expr.Env(map[string]any(e)), expr.AllowUndefinedVariables())
	if err != nil {
		return nil, err
	}
	value, err := expr.Run(program, map[string]any(e))
	if err != nil {
		return nil, fmt.Errorf("%q: %w", text, err)
	}
	return value, nil
}

// values works out what begins with "=".
func (e scope) values(of map[string]any) (map[string]any, error) {
	result := map[string]any{}
	for key, value := range of {
		worked, err := e.worked(value)
		if err != nil {
			return nil, err
		}
		result[key] = worked
	}
	return result, nil
}

func (e scope) worked(value any) (any, error) {
	switch value := value.(type) {
	case string:
		if text, ok := strings.CutPrefix(value, "="); ok {
			return e.value(text)
		}
	case map[string]any:
		return e.values(value)
	case []any:
		list := make([]any, len(value))
		for i := range value {
			var err error
			if list[i], err = e.worked(value[i]); err != nil {
				return nil, err
			}
		}
		return list, nil
	}
	return value, nil
}

// nameOf is what people call a thing.
func nameOf(list string, thing source.Ref) string {
	object, _ := thing.Any().(map[string]any)
	for _, key := range []string{"cue", "channel", "name"} {
		if name, ok := object[key]; ok {
			switch key {
			case "name":
				return fmt.Sprint(name)
			default:
				return fmt.Sprint(key, " ", name)
			}
		}
	}
	return list
}

// Said are the keys of what is found in a show.
func Said(found []finding.Finding) map[string]bool {
	said := map[string]bool{}
	for i := range found {
		said[found[i].Key()] = true
	}
	return said
}
