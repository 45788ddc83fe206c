package main

import (
	"bytes"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cueproof/cueproof"
	"github.com/cueproof/cueproof/internal/convert"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/practise"
	"github.com/cueproof/cueproof/internal/report/lesson"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
	"github.com/spf13/cobra"
)

type practiseOptions struct {
	into, page string
	look, hint bool
	answer     string
	faults     int
	evening    int
	packs      []string
	seed       uint64
	house      houseFlags
	out        outFlags // for a page
}

func newPractise() *cobra.Command {
	var o practiseOptions
	command := &cobra.Command{
		Use:   "practise [SHOW] --into FOLDER",
		Short: "Put faults into a copy of a show, to learn on",
		Long: `Practise copies a sound SHOW (the demo evening, if none is named) into a new folder
and puts faults into the copy, such as people make. The learner looks at the light
first, finds what is wrong, and puts it right in the files of the copy by hand.
The show itself is never touched. What was missed comes back after one, three and
eight weeks: ` + practise.MemoryName + ` beside the folder remembers rules and days,
and nobody's name.`,
		Example: `  cueproof practise --into lesson
  cueproof practise lesson --answer "the lectern has no light from behind"   in words
  cueproof practise lesson --hint      where to look, then what to measure, then the rule
  cueproof practise lesson --look      what is put right, what remains, what came new
  cueproof practise lesson --page lesson.html   its pictures, without a verdict
  cueproof practise shows/sunday --into lesson2 --packs people,white --faults 1
  cueproof practise --evening 6 --into course   exercises for an evening of teaching, on paper

Exit codes:
  0   the exercise is written, an answer is looked at, or nothing in it remains
  1   a fault remains, or a new one came
  2   the command was misused, or the folder is there already
  3   a show cannot be read
  70  a fault of the program`,
		Args: atMostOne("one show, or the folder of one exercise"),
		RunE: func(command *cobra.Command, args []string) error { return practiseWith(command, args, o) },
	}
	flags := command.Flags()
	flags.StringVar(&o.into, "into", "", "the new folder for the exercise; it is made, whole or not at all")
	flags.BoolVar(&o.look, "look", false, "hold the exercise in this folder against what was put in, and explain")
	flags.BoolVar(&o.hint, "hint", false, "give the next hint for each fault of the exercise in this folder")
	flags.StringVar(&o.answer, "answer", "", "say in words what you think is wrong, and hear whether that is it")
	flags.StringVar(&o.page, "page", "", "file to write the pictures of the exercise in this folder to, without a verdict, with room for answers")
	flags.IntVar(&o.evening, "evening", 0, fmt.Sprintf("make so many exercises of one fault each, 2 to %d, with a sheet to print and one of answers", mostEvening))
	flags.IntVar(&o.faults, "faults", 3, fmt.Sprintf("how many faults, 1 to %d", practise.MostFaults))
	flags.StringSliceVar(&o.packs, "packs", nil, "packs of rules to choose from, such as people,white (default: all)")
	flags.Uint64Var(&o.seed, "seed", 0, "which faults, and where: the same number, the same exercise (default: from the day and the folder)")
	if err := command.MarkFlagDirname("into"); err != nil {
		panic(err) // the option is declared above
	}
	o.out.addGuard(command)
	o.house.add(command)
	o.house.addNow(command)
	return command
}

// mostTold is how many findings of one fault are told.
const mostTold = 3

// mostEvening is what a group gets through in one evening (common practice, no source).
const mostEvening = 12

func atMostOne(what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) > 1 {
			return usagef("name %s, not %d", what, len(args))
		}
		return nil
	}
}

// practice is one call of the command.
type practice struct {
	command *cobra.Command
	o       practiseOptions
	options lint.HouseOptions
	recipes map[string]*practise.Recipe
	set     *rules.Set
	guard   *outfile.Guard
}

func practiseWith(command *cobra.Command, args []string, o practiseOptions) error {
	house, err := o.house.options()
	if err != nil {
		return err
	}
	recipes, err := practise.Recipes(rules.BuiltIn())
	if err != nil {
		return fault{err}
	}
	p := &practice{command, o, house, recipes, rules.Own(), o.out.guard}
	asked := 0
	answers := command.Flags().Changed("answer")
	for _, given := range []bool{o.into != "", o.look, o.hint, answers, o.page != ""} {
		if given {
			asked++
		}
	}
	switch {
	case asked > 1:
		return usagef("give one of --into, --answer, --hint, --look and --page")
	case o.look || o.hint || answers || o.page != "":
		if len(args) == 0 {
			return usagef("name the folder of the exercise")
		}
		if err := noSuchShow(args[0]); err != nil {
			return err
		}
		if o.hint {
			return p.hints(args[0])
		}
		if o.page != "" {
			return p.draw(args[0])
		}
		if answers {
			if strings.TrimSpace(o.answer) == "" {
				return usagef("--answer needs words, such as \"the lectern has no light from behind\"")
			}
			return p.answer(args[0])
		}
		return p.lookAt(args[0])
	case o.into == "":
		return usagef("--into needs the name of a new folder for the exercise")
	}
	return p.make(args)
}

// found holds all rules against a folder.
func (p *practice) found(folder string) ([]finding.Finding, error) {
	return lint.Found(folder, lint.Options{Rules: p.set, House: p.options})
}

// make writes an exercise into a new folder and remembers it.
func (p *practice) make(args []string) error {
	files, name, err := p.show(args)
	if err != nil {
		return err
	}
	if err := p.free(); err != nil {
		return err
	}
	scratch, err := os.MkdirTemp("", "practise")
	if err != nil {
		return fault{source.Cause(err)}
	}
	defer func() { _ = os.RemoveAll(scratch) }()
	memory, err := p.memory(p.o.into)
	if err != nil {
		return err
	}
	choice := practise.Choice{Faults: p.o.faults, Packs: p.o.packs, First: memory.Due(p.options.Today), Seed: p.seed()}
	if p.o.evening > 0 {
		return p.makeEvening(files, name, scratch, choice)
	}
	changed, exercise, err := practise.Make(files, p.recipes, p.judge(scratch), choice)
	if err != nil {
		return usage{err}
	}
	if err := p.guard.Folder(p.o.into, func(root *os.Root) error { return putFiles(root, ".", changed) }); err != nil {
		return usagef("--into %s: %w", p.o.into, err)
	}
	exercise.Folder, exercise.Day = filepath.Base(p.o.into), p.options.Today
	if err := p.remember(p.o.into, func(m *practise.Memory) error {
		m.Exercises = slices.DeleteFunc(m.Exercises, func(e practise.Exercise) bool { return e.Folder == exercise.Folder })
		m.Exercises = append(m.Exercises, *exercise)
		return nil
	}); err != nil {
		return err
	}
	return tell(p.command, func(w io.Writer) error { return sayExercise(w, name, p.o.into, exercise) })
}

// makeEvening writes several exercises of one fault each, of different rules, with a sheet
// to print and another with the answers.
func (p *practice) makeEvening(files practise.Files, name, scratch string, choice practise.Choice) error {
	memory := &practise.Memory{Format: 1}
	var made []practise.Files
	var list []lesson.Exercise
	recipes := maps.Clone(p.recipes)
	for i := range p.o.evening {
		choice.Faults, choice.Seed = 1, choice.Seed+uint64(i)
		changed, exercise, err := practise.Make(files, recipes, p.judge(scratch), choice)
		if err != nil {
			return usagef("after %s: %w", say.Count(i, "exercise"), err)
		}
		delete(recipes, exercise.Faults[0].Rule)
		exercise.Folder, exercise.Day = fmt.Sprintf("exercise-%d", i+1), p.options.Today
		memory.Exercises = append(memory.Exercises, *exercise)
		made = append(made, changed)
		if _, err := p.judge(scratch)(changed); err != nil { // what was tried last may be another
			return err
		}
		drawn, err := p.drawn(scratch, exercise)
		if err != nil {
			return err
		}
		drawn.Folder = filepath.ToSlash(filepath.Join(p.o.into, exercise.Folder))
		list = append(list, drawn)
	}
	if err := p.guard.Folder(p.o.into, func(root *os.Root) error {
		for i, changed := range made {
			if err := putFiles(root, memory.Exercises[i].Folder, changed); err != nil {
				return err
			}
		}
		text, err := memory.Bytes()
		if err != nil {
			return err
		}
		sheets := practise.Files{practise.MemoryName: text}
		for sheet, answers := range map[string]bool{"exercises.html": false, "answers.html": true} {
			var page bytes.Buffer
			title := "Exercises for an evening"
			if answers {
				title = "Answers"
			}
			if err := lesson.Write(&page, title, list, answers); err != nil {
				return err
			}
			sheets[sheet] = page.Bytes()
		}
		return putFiles(root, ".", sheets)
	}); err != nil {
		return usagef("--into %s: %w", p.o.into, err)
	}
	return tell(p.command, func(w io.Writer) error {
		_, err := fmt.Fprintf(w, "%s from %q, each with one fault, are in %s.\nPrint exercises.html for everybody, and keep answers.html.\n", say.Count(len(made), "exercise"), name, p.o.into)
		return err
	})
}

// draw writes the pictures of an exercise to a page.
func (p *practice) draw(folder string) error {
	memory, err := p.memory(folder)
	if err != nil {
		return err
	}
	exercise, err := p.exercise(memory, folder)
	if err != nil {
		return err
	}
	p.o.out.path, p.o.out.called = p.o.page, "--page"
	if err := p.o.out.check(p.command, "", folder, p.memoryFile(folder)); err != nil {
		return err
	}
	drawn, err := p.drawn(folder, exercise)
	if err != nil {
		return err
	}
	drawn.Folder = filepath.ToSlash(folder)
	return p.o.out.tell(p.command, "", func(w io.Writer) error {
		return lesson.Write(w, "Exercise", []lesson.Exercise{drawn}, false)
	})
}

// drawn is an exercise with what its pictures are drawn from and all that is told of it.
func (p *practice) drawn(folder string, exercise *practise.Exercise) (lesson.Exercise, error) {
	show, err := lint.Picture(folder, lint.Options{Rules: p.set, House: p.options}, "", "")
	if err != nil {
		return lesson.Exercise{}, err
	}
	drawn := lesson.Exercise{Show: show}
	for i := range exercise.Faults {
		planted := exercise.Faults[i]
		one := lesson.Fault{Title: p.rule(planted.Rule).Title, Where: planted.Where, Says: planted.Says}
		if recipe := p.recipes[planted.Rule]; recipe != nil {
			for again := planted; ; {
				hint, more := again.Hint(recipe, one.Title)
				if !more {
					break
				}
				one.Hints = append(one.Hints, hint)
			}
			one.Parts = append(one.Parts, lesson.Part{Word: "What happened", Text: recipe.Fault})
		}
		for _, part := range fourParts {
			if text := sectionOf(p.rule(planted.Rule).Explain, part.heading); text != "" {
				one.Parts = append(one.Parts, lesson.Part{Word: part.word, Text: text})
			}
		}
		drawn.Faults = append(drawn.Faults, one)
	}
	return drawn, nil
}

// free refuses what cannot be made, before any work is done.
func (p *practice) free() error {
	if entries, err := os.ReadDir(p.o.into); len(entries) > 0 || err != nil && !errors.Is(err, fs.ErrNotExist) {
		return usagef("--into %s: something is there already; name a new folder", p.o.into)
	}
	for _, pack := range p.o.packs {
		if !slices.ContainsFunc(slices.Collect(maps.Keys(p.recipes)), func(rule string) bool { return strings.HasPrefix(rule, pack+"/") }) {
			return usagef("--packs: there is no pack %q", pack)
		}
	}
	if p.o.faults < 1 || p.o.faults > practise.MostFaults {
		return usagef("--faults %d: an exercise has 1 to %d", p.o.faults, practise.MostFaults)
	}
	if p.command.Flags().Changed("evening") && (p.o.evening < 2 || p.o.evening > mostEvening) {
		return usagef("--evening %d: an evening has 2 to %d exercises", p.o.evening, mostEvening)
	}
	return nil
}

// seed is the number that was given, or one of the day and the folder.
func (p *practice) seed() uint64 {
	if p.command.Flags().Changed("seed") {
		return p.o.seed
	}
	sum := fnv.New64a()
	_, _ = sum.Write([]byte(p.options.Today + filepath.Base(p.o.into))) // a hash takes everything
	return sum.Sum64()
}

// judge holds all rules against files, which are written to a folder for that.
func (p *practice) judge(scratch string) practise.Judge {
	return func(files practise.Files) ([]finding.Finding, error) {
		if err := files.Put(scratch); err != nil {
			return nil, fault{source.Cause(err)}
		}
		return p.found(scratch)
	}
}

// putFiles writes files into a folder of a new one.
func putFiles(root *os.Root, folder string, files practise.Files) error {
	if folder != "." {
		if err := root.Mkdir(folder, 0o755); err != nil {
			return source.Cause(err)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		if err := root.WriteFile(path.Join(folder, name), files[name], 0o644); err != nil {
			return source.Cause(err)
		}
	}
	return nil
}

func sayExercise(w io.Writer, name, into string, exercise *practise.Exercise) error {
	passed := ""
	if n := len(exercise.Passed); n > 0 {
		passed = fmt.Sprintf("%s passed over: nothing in this show can be broken so by itself.\n", say.Count(n, "kind of fault was", "kinds of fault were"))
	}
	if len(exercise.Faults) < exercise.Asked {
		passed += fmt.Sprintf("You asked for %d.\n", exercise.Asked)
	}
	_, err := fmt.Fprintf(w, `A copy of %q is in %s, with %s in it.
%s
First look, before any verdict:
  What would the room see? What would the stream?
  cueproof practise %s --page %s.html  its pictures, without a verdict
Then say what is wrong, or put it right in the files of %s, by hand.

  cueproof practise %s --answer "..."  hear whether that is it
  cueproof practise %s --hint  where to look, then what to measure, then the rule
  cueproof practise %s --look  what is put right, what remains, what came new
`, name, into, say.Count(len(exercise.Faults), "fault"), passed, into, into, into, into, into, into)
	return err
}

// show reads the files of a show that is to be copied, as JSON.
func (p *practice) show(args []string) (files practise.Files, name string, err error) {
	if len(args) == 0 {
		files, err := under(cueproof.Demo())
		return files, "the demo evening", err
	}
	if args[0] == "-" {
		return nil, "", usagef("practise copies a folder or a file, not standard input")
	}
	if err := noSuchShow(args[0]); err != nil {
		return nil, "", err
	}
	p.guard.Read(args[0])
	read, err := lint.ReadAll(args, lint.Options{House: p.options, Out: p.guard})
	if err != nil {
		return nil, "", err
	}
	if read.Unreadable || len(read.Show.ReadFrom) == 0 {
		tellMistakes(p.command.ErrOrStderr(), read.Findings)
		complain(p.command.ErrOrStderr(), "something cannot be read, so there is no exercise")
		return nil, "", exitCode(exitShow)
	}
	info, err := os.Stat(args[0])
	if err != nil {
		return nil, "", fault{source.Cause(err)}
	}
	written := info.IsDir() && !slices.ContainsFunc(read.Files, func(f *source.File) bool { return !lint.IsJSON(f.Name) })
	if written { // the learner sees the files as the team writes them
		files, err := under(os.DirFS(args[0]))
		return files, read.Show.Name, err
	}
	folder, err := convert.Make(read, args)
	if err != nil {
		return nil, "", fault{err}
	}
	files = practise.Files{}
	for _, file := range folder.Files {
		files[file.Name] = file.Data
	}
	return files, read.Show.Name, nil
}

// under reads the JSON files and the photometry of a folder.
func under(fsys fs.FS) (practise.Files, error) {
	files := practise.Files{}
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return nil, fault{err}
	}
	for _, entry := range entries {
		if entry.IsDir() || !lint.IsJSON(entry.Name()) && !lint.IsPhotometry(entry.Name()) || strings.HasPrefix(entry.Name(), ".") {
			continue
		}
		if files[entry.Name()], err = fs.ReadFile(fsys, entry.Name()); err != nil {
			return nil, fault{source.Cause(err)}
		}
	}
	return files, nil
}

func (p *practice) memoryFile(folder string) string {
	return filepath.Join(filepath.Dir(filepath.Clean(folder)), practise.MemoryName)
}

func (p *practice) memory(folder string) (*practise.Memory, error) {
	data, err := os.ReadFile(p.memoryFile(folder))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, usagef("%s: %w", p.memoryFile(folder), source.Cause(err))
	}
	memory, err := practise.ReadMemory(data)
	if err != nil {
		return nil, usagef("%s: %w", p.memoryFile(folder), err)
	}
	return memory, nil
}

// remember changes what is kept beside the exercises.
func (p *practice) remember(folder string, change func(*practise.Memory) error) error {
	name := p.memoryFile(folder)
	if err := p.guard.Merge(name, "the memory of exercises", func(before []byte) ([]byte, error) {
		memory, err := practise.ReadMemory(before)
		if err != nil {
			return nil, err
		}
		if err := change(memory); err != nil {
			return nil, err
		}
		return memory.Bytes()
	}); err != nil {
		var misuse usage
		if errors.As(err, &misuse) {
			return err
		}
		return usagef("%s: %w", name, err)
	}
	return nil
}

// remembered changes the exercise of a folder. It is read once, so that nobody can take it
// away between two reads.
func (p *practice) remembered(folder string, change func(*practise.Memory, *practise.Exercise)) error {
	return p.remember(folder, func(m *practise.Memory) error {
		e, err := p.exercise(m, folder)
		if err == nil {
			change(m, e)
		}
		return err
	})
}

// exercise finds the exercise in a folder.
func (p *practice) exercise(m *practise.Memory, folder string) (*practise.Exercise, error) {
	e := m.Exercise(filepath.Base(filepath.Clean(folder)))
	if e == nil {
		return nil, usagef("%s is no exercise that %s knows; make one with --into", folder, p.memoryFile(folder))
	}
	return e, nil
}

// hints tells the next hint of each fault that was not found yet.
func (p *practice) hints(folder string) error {
	var text bytes.Buffer
	if err := p.remembered(folder, func(_ *practise.Memory, e *practise.Exercise) {
		text.Reset()
		for i := range e.Faults {
			planted := &e.Faults[i]
			recipe, rule := p.recipes[planted.Rule], p.rule(planted.Rule)
			if planted.Found || recipe == nil {
				continue
			}
			hint, more := planted.Hint(recipe, rule.Title)
			if !more {
				hint = "There are no more hints. cueproof explain " + planted.Rule + " --show " + folder
			}
			fmt.Fprintf(&text, "Fault %d of %d: %s\n", i+1, len(e.Faults), hint)
		}
	}); err != nil {
		return err
	}
	if text.Len() == 0 {
		text.WriteString("Nothing is left to find.\n")
	}
	return write(p.command.OutOrStdout(), text.Bytes())
}

// answer says whether words mean a fault of the exercise.
func (p *practice) answer(folder string) error {
	files, err := under(os.DirFS(folder))
	if err != nil {
		return err
	}
	names, err := practise.Names(files)
	if err != nil {
		return usagef("%s: %w", folder, err)
	}
	var cards []finding.Rule
	for _, rule := range p.set.Rules {
		cards = append(cards, rule.Rule)
	}
	var said practise.Reply
	if err := p.remembered(folder, func(_ *practise.Memory, e *practise.Exercise) {
		said = e.Answer(p.o.answer, cards, p.recipes, names)
	}); err != nil {
		return err
	}
	return tell(p.command, func(w io.Writer) error {
		out := &printer{w: w}
		if said.Is == practise.Right {
			title := p.rule(said.Fault.Rule).Title
			if said.Before {
				out.line(0, "Right, and you said so before: "+title)
			} else {
				out.line(0, "Right. "+title)
			}
			if said.Left > 0 {
				out.line(0, fmt.Sprintf("Still to be named: %d.", said.Left))
			}
			out.line(0, "Now put it right by hand, then: cueproof practise "+folder+" --look")
			return out.err
		}
		switch said.Is {
		case practise.Elsewhere:
			out.line(0, "Near. Such a fault is in it, but not there.")
		case practise.Near:
			out.line(0, "Near. Look once more at what you see, and say it in other words.")
		case practise.NotThat:
			out.line(0, "Not that. What you describe was not put in.")
		default:
			out.line(0, "No rule lists anything like these words. Say what you see, such as: the face is too dark.")
		}
		out.line(0, "For a hint: cueproof practise "+folder+" --hint")
		return out.err
	})
}

func (p *practice) rule(id string) *rules.Rule {
	rule, ok := p.set.Find(id)
	if !ok {
		return &rules.Rule{}
	}
	return rule
}

// lookAt tells what is put right, what remains and what came new.
func (p *practice) lookAt(folder string) error {
	memory, err := p.memory(folder)
	if err != nil {
		return err
	}
	if _, err := p.exercise(memory, folder); err != nil {
		return err // before any work is done
	}
	found, err := p.found(folder)
	if err != nil {
		return err
	}
	var look practise.Progress
	if err := p.remembered(folder, func(m *practise.Memory, e *practise.Exercise) {
		look = e.Over(found, p.recipes, m, p.options.Today)
	}); err != nil {
		return err
	}
	if err := tell(p.command, func(w io.Writer) error { return p.sayLook(w, folder, look) }); err != nil {
		return err
	}
	if len(look.Remain)+len(look.New) > 0 {
		return exitCode(exitFindings)
	}
	return nil
}

func (p *practice) sayLook(w io.Writer, folder string, look practise.Progress) error {
	out := &printer{w: w}
	out.line(0, fmt.Sprintf("Put right: %d. Remaining: %d. New: %d.", len(look.Gone), len(look.Remain), len(look.New)))
	for _, seen := range look.Remain {
		out.line(0, "")
		out.line(0, "Remains: "+p.rule(seen.Rule).Title)
		told := map[string]bool{}
		for _, f := range seen.Now {
			if !told[f.Message] && len(told) < mostTold {
				out.line(2, f.Message)
				told[f.Message] = true
			}
		}
		p.explain(out, seen.Fault)
	}
	for i := range look.New {
		out.line(0, "")
		out.line(0, "Came new: "+p.rule(look.New[i].Rule).Title)
		out.line(2, look.New[i].Message)
		out.line(2, "cueproof explain "+look.New[i].Rule+" --show "+folder)
	}
	for _, seen := range look.Gone {
		out.line(0, "")
		out.line(0, "Put right: "+p.rule(seen.Rule).Title)
		out.line(2, "It was said of "+seen.Where+": "+seen.Says)
		p.explain(out, seen.Fault)
	}
	return out.err
}

// fourParts are what an explanation of an exercise has, by the headings of explain.md.
var fourParts = []struct{ word, heading string }{
	{"What", "What it looks like"},
	{"Why", "Why it matters"},
	{"How to put it right", "What to try"},
	{"How to keep it from coming back", "How to keep it from coming back"},
}

func (p *practice) explain(out *printer, planted *practise.Fault) {
	if recipe := p.recipes[planted.Rule]; recipe != nil {
		out.line(2, "What happened: "+recipe.Fault)
	}
	for _, part := range fourParts {
		if text := sectionOf(p.rule(planted.Rule).Explain, part.heading); text != "" {
			out.line(2, part.word+": "+text)
		}
	}
}

// sectionOf is what stands under a heading of an explanation, as plain text.
func sectionOf(markdown, heading string) string {
	_, rest, ok := strings.Cut("\n"+markdown, "\n## "+heading+"\n")
	if !ok {
		return ""
	}
	text, _, _ := strings.Cut(rest, "\n## ")
	text = strings.ReplaceAll("\n"+text, "\n- ", "\n") // one thing after the other
	return strings.Join(strings.Fields(say.Plain(text)), " ")
}

// printer writes lines of a width, and keeps the first error.
type printer struct {
	w   io.Writer
	err error
}

func (o *printer) line(indent int, text string) {
	const width = 80
	lines := say.Wrap(say.Clean(text), width-indent)
	if len(lines) == 0 {
		lines = []string{""}
	}
	for _, line := range lines {
		if o.err == nil {
			_, o.err = fmt.Fprintln(o.w, strings.TrimRight(strings.Repeat(" ", indent)+line, " "))
		}
	}
}
