package main

import (
	"maps"
	"slices"
)

func topicNames() []string { return slices.Sorted(maps.Keys(topics)) }

// topics are what help explains besides commands, by the word that asks for it.
var topics = map[string]string{
	"show": `A show is a folder, or one JSON file. show.json holds any of the sections room,
types, patch, groups, cues, order, notices and readings; each may stand in a JSON
or CSV file of its own beside it (patch.csv, cues.json...). What is missing is
unknown and is never taken as right.

  cueproof schema patch        the keys of a section
  cueproof check shows/sunday  what is wrong, and what would let more be checked
`,
	"verdict": `The first word of a report:

  READY            every rule that matters could look, and nothing above a note
                   is left
  READY WITH CARE  nothing stops the service; something is worth a change, is only
                   likely, or could not be checked
  HOLD             something is wrong for sure that has to be put right
  NOT CHECKED      a file could not be read, or a third of the rules or fewer
                   could look

It is arithmetic on what the files say. It certifies nothing, and never that
anything is without danger.
`,
	"orders": `An order is one thing to do, with its exact value. It was made on a copy of the
show that had those before it, and all rules looked at the copy, so do them in
their order. The gravest consequence comes first.

  (1 min)        at the console
  (15 min, ask)  at height, at a plug or on the floor: leave it to the person
                 responsible
  Its price      what gets worse by it, where something does
  A, B...        what only a person can give, such as a notice; not proved

  cueproof check --all SHOW               reasons, and how to go back
  cueproof explain F-KEY --show SHOW      all of one finding
  cueproof check --doors 10:30 SHOW       what there is still time for
  cueproof check --try NEW-FOLDER SHOW    a corrected copy, read again
`,
	"exit-codes": `  0   nothing at or above the failing level was found
  1   something was; with --base, something new
  2   the command was misused, or a house file or rule is broken
  3   a show cannot be read
  4   nothing could be checked, or with --complete not everything
  70  a fault of the program
`,
	"waivers": `A finding that somebody decided to live with is accepted in house.yaml, with a
reason, a name and a day. It is told and not counted. What could hurt somebody has
to be named, and some findings nobody may accept.

  cueproof accept --help
  cueproof house --help
`,
}
