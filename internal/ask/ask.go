// Package ask finds the rules that a person means who sees trouble and does not know
// what it is called.
//
// In go words as somebody says them in the booth and the symptoms that rules list, out
// come the rules that fit, best first. Nothing is looked up anywhere else. A
// newcomer's mistake would be to take the order for a probability: it is a count of
// words in common, of which rare ones weigh more.
package ask

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"unicode"

	"github.com/cueproof/cueproof/internal/finding"
)

// Hit is a rule that fits, and the symptom that does.
type Hit struct {
	Rule    finding.Rule
	Symptom string // "" if only the title fits
	Weight  float64
}

// most is how many rules are named: more is no answer.
const most = 5

// Rules returns the rules that fit a question, best first, none that shares no word
// with it.
func Rules(question string, rules []finding.Rule) []Hit {
	asked := words(question)
	type text struct {
		rule, words int // the rule, by its place
		symptom     string
		has         map[string]bool
	}
	var texts []text
	in := map[string]int{} // in how many texts a word stands
	for i := range rules {
		for _, symptom := range append(slices.Clone(rules[i].Symptoms), "") {
			said := symptom
			if said == "" {
				said = rules[i].Title
			}
			has := words(said)
			for word := range has {
				in[word]++
			}
			texts = append(texts, text{i, len(has), symptom, has})
		}
	}
	best := map[int]Hit{}
	for _, t := range texts {
		weight := 0.0
		for word := range asked {
			if t.has[word] {
				weight += math.Log(1 + float64(len(texts))/float64(in[word]))
			}
		}
		if weight == 0 {
			continue
		}
		weight /= math.Sqrt(float64(t.words)) // a long text has many words by chance
		if t.symptom == "" {
			weight /= 2 // a title says what should be, not what is seen
		}
		if old, ok := best[t.rule]; !ok || weight > old.Weight {
			best[t.rule] = Hit{rules[t.rule], t.symptom, weight}
		}
	}
	var hits []Hit
	for i := range rules {
		if hit, ok := best[i]; ok {
			hits = append(hits, hit)
		}
	}
	slices.SortStableFunc(hits, func(a, b Hit) int { return cmp.Compare(b.Weight, a.Weight) })
	if len(hits) > 0 { // what fits far worse than the best is noise
		const far = 0.4
		hits = slices.DeleteFunc(hits, func(h Hit) bool { return h.Weight < far*hits[0].Weight })
	}
	return hits[:min(len(hits), most)]
}

// plain are words that say nothing of the trouble.
var plain = map[string]bool{}

func init() {
	for _, word := range strings.Fields("a an and are as at be because but by can do does for from goes has have i in is it its my no not of on or our so that the there they this to too very was we what when where which while who why with you your cannot see seen much so him her") {
		plain[word] = true
	}
}

// alike are words that people use for one thing.
var alike = map[string]string{
	"stream": "camera", "picture": "camera", "video": "camera", "broadcast": "camera", "image": "camera",
	"person": "face", "people": "face", "singer": "face", "speaker": "face", "preacher": "face", "pastor": "face", "somebody": "face", "skin": "face",
	"wall": "screen", "projector": "screen", "projection": "screen", "slides": "screen", "led": "screen",
	"smoke": "haze", "fog": "haze", "hazy": "haze", "milky": "haze",
	"flicker": "flash", "strobe": "flash", "flashing": "flash", "blink": "flash", "blinking": "flash",
	"black": "dark", "dim": "dark", "gloomy": "dark", "shadow": "dark",
	"orange": "warm", "yellow": "warm", "blueish": "blue", "bluish": "blue",
	"stripes": "band", "banding": "band", "lines": "band", "rolling": "band",
	"half": "side", "left": "side", "right": "side", "lamp": "light", "fixture": "light", "spot": "light",
	"stays": "stay", "jumps": "jump", "snaps": "jump", "blown": "burn", "burnt": "burn", "glow": "burn", "glows": "burn",
}

// words are the words of a text that say something, in one form each.
func words(text string) map[string]bool {
	list := map[string]bool{}
	for word := range strings.FieldsFuncSeq(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		if plain[word] {
			continue
		}
		if one, ok := alike[word]; ok {
			word = one
		} else if len(word) > 4 { // flashes, flashing and flash are one
			for _, ending := range []string{"ing", "es", "s", "ed"} {
				if stem, cut := strings.CutSuffix(word, ending); cut && len(stem) > 3 {
					word = stem
					break
				}
			}
			if one, ok := alike[word]; ok {
				word = one
			}
		}
		list[word] = true
	}
	return list
}
