package cases

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
)

// nameKeys are the keys by which the things of a show are known in their lists.
var nameKeys = []string{"channel", "cue", "name"}

// Marks that an entry of a list in a patch may have.
const (
	gone  = "*" // with null: take the entry with that name away; without a name, all entries
	added = "+" // with true: add it as it stands, even if its name is there already
)

// Merge applies a patch to a document and returns the result as JSON.
//
// Objects are merged as RFC 7396 has it: key by key, and null takes a key away.
// A list of things that are known by a channel, a cue or a name is merged by it,
// because a show is lists: an entry that is there is merged with, any other is
// added behind. {"name": "x", "*": null} takes one away, {"*": null} all before
// it, and {"name": "x", "+": true} adds a second one. All other lists are replaced.
func Merge(base, patch []byte) ([]byte, error) {
	into, err := decode(base)
	if err != nil {
		return nil, err
	}
	change, err := decode(patch)
	if err != nil {
		return nil, err
	}
	return json.Marshal(merge(into, change))
}

// decode reads one value of JSON and keeps numbers as they are written.
func decode(text []byte) (value any, err error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	if err := d.Decode(&value); err != nil {
		return nil, fmt.Errorf("read JSON: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("read JSON: something stands behind the value")
	}
	return value, nil
}

func merge(into, change any) any {
	switch change := change.(type) {
	case map[string]any:
		object, _ := into.(map[string]any)
		merged := map[string]any{}
		for key, value := range object {
			merged[key] = value
		}
		for key, value := range change {
			if value == nil {
				delete(merged, key)
			} else {
				merged[key] = merge(merged[key], value)
			}
		}
		return merged
	case []any:
		list, _ := into.([]any)
		if key := keyOf(list, change); key != "" {
			return mergeList(list, change, key)
		}
	}
	return change
}

// keyOf is the key by which the entries of two lists are known; "" for lists of
// other things.
func keyOf(list, change []any) string {
	if len(change) == 0 {
		return ""
	}
	for _, key := range nameKeys {
		all := true
		for _, entries := range [][]any{list, change} {
			for _, entry := range entries {
				object, ok := entry.(map[string]any)
				_, named := object[key]
				_, all0 := object[gone]
				all = all && ok && (named || all0 && len(object) == 1)
			}
		}
		if all {
			return key
		}
	}
	return ""
}

func mergeList(list, change []any, key string) []any {
	merged := append([]any{}, list...)
	for _, entry := range change {
		object := entry.(map[string]any)
		name, named := object[key]
		_, away := object[gone]
		_, anew := object[added]
		at := -1
		for i, old := range merged {
			if at < 0 && named && !anew && reflect.DeepEqual(old.(map[string]any)[key], name) {
				at = i
			}
		}
		switch {
		case away && !named:
			merged = merged[:0]
		case away && at >= 0:
			merged = append(merged[:at:at], merged[at+1:]...)
		case away:
		case at >= 0:
			merged[at] = merge(merged[at], object)
		default:
			fresh := map[string]any{}
			for k, v := range object {
				if k != added {
					fresh[k] = v
				}
			}
			merged = append(merged, merge(nil, fresh))
		}
	}
	return merged
}
