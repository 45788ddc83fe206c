package loaders_test

import (
	"testing"

	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/loaders/jsonform"
	"github.com/cueproof/cueproof/schema"
)

// What comes before all that was there is written before it.
func TestASettingBeforeTheOthers(t *testing.T) {
	const text = `{"patch": [{"channel": 1}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]}`
	loaded, _ := show(t, map[string]string{"show.json": text})
	after := *loaded.Show
	cue := *after.Cues[0]
	level := schema.Level(20)
	cue.Set = append([]*schema.Setting{{Channels: "2", Told: &schema.Told{Level: &level}}}, cue.Set...)
	after.Cues = []*schema.Cue{&cue}
	c := &format.Change{Before: loaded.Show, After: &after}
	if err := jsonform.Format.Write(c, "cues", loaded.Show.ReadFrom["cues"]); err != nil {
		t.Fatal(err)
	}
	got, err := loaders.File(loaded.Files[0], []byte(text), c.List)
	want := `{"patch": [{"channel": 1}], "cues": [{"cue": 1, "set": [{"channels": "2", "level": 20}, {"channels": "1", "level": 50}]}]}`
	if err != nil || string(got) != want {
		t.Errorf("%v: %s", err, got)
	}
}
