package mvr

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/archive"
	"github.com/cueproof/cueproof/loaders/format"
)

func near(a, b [3]float64) bool {
	return math.Abs(a[0]-b[0]) < 1e-6 && math.Abs(a[1]-b[1]) < 1e-6 && math.Abs(a[2]-b[2]) < 1e-6
}

func matrix(t *testing.T, text string) Matrix {
	t.Helper()
	m, ok := ParseMatrix(text)
	if !ok {
		t.Fatalf("%q is not read", text)
	}
	return m
}

// The rows are the images of the axes, then the origin; innermost first.
func TestMatrices(t *testing.T) {
	if got := (Mapping{}).Point(matrix(t, "{1,0,0}{0,1,0}{0,0,1}{1500,-2250.5,6000}").Origin()); !near(got, [3]float64{1.5, -2.2505, 6}) {
		t.Error(got)
	}
	if got := matrix(t, "{0,1,0}{-1,0,0}{0,0,1}{1000,2000,6000}").Point([3]float64{500, 0, 0}); !near(got, [3]float64{1000, 2500, 6000}) {
		t.Error(got)
	}
	layer := matrix(t, "{1,0,0}{0,1,0}{0,0,1}{0,0,500}")
	group := matrix(t, "{0,1,0}{-1,0,0}{0,0,1}{1000,0,0}")
	fixture := matrix(t, "{1,0,0}{0,1,0}{0,0,1}{200,300,4000}")
	if got := fixture.In(group.In(layer)).Origin(); !near(got, [3]float64{700, 200, 4500}) {
		t.Error(got)
	}
	tilted := matrix(t, "{1,0,0}{0,0.5,0.866025}{0,-0.866025,0.5}{0,0,5000}")
	if got := tilted.Down(); !near(got, [3]float64{0, 0.866025, -0.5}) {
		t.Error(got)
	}
	if got := matrix(t, "{0,1,0}{-1,0,0}{0,0,1}{1000,2000,3000}").Point([3]float64{1000, 0, 0}); !near(got, [3]float64{1000, 3000, 3000}) {
		t.Error(got) // what a type says in metres with columns: {0,-1,0,1}{1,0,0,2}{0,0,1,3}{0,0,0,1}
	}
	for _, text := range []string{"{1,0,0} {0,1,0}\n{0,0,1}{ 1e3 ,+0,-0 }", " {1,0,0}{0,1,0}{0,0,1}{1000,0,0}\r\n"} {
		if got := matrix(t, text).Origin(); !near(got, [3]float64{1000, 0, 0}) {
			t.Errorf("%q: %v", text, got)
		}
	}
	for _, text := range []string{"", "None", "{1,0,0}{0,1,0}{0,0,1}", "{1,0,0,0}{0,1,0,0}{0,0,1,0}{0,0,0,1}", "{1,0,0}{0,1,0}{0,0,1}{0,0,nan}", "{1,0,0}{0,1,0}{0,0,1}{0,0,1e300}", "{1;0;0}{0,1,0}{0,0,1}{0,0,0}"} {
		if _, ok := ParseMatrix(text); ok {
			t.Errorf("%q is read", text)
		}
	}
}

// A fixture is called by what people call it, else by its number, else by its name.
func TestCalled(t *testing.T) {
	text := func(words string) format.Text { return format.Text{Words: words} }
	for want, f := range map[string]Fixture{
		`"K1"`: {ID: text("K1"), Number: 7, Name: text("front")}, "1": {Number: 1, Name: text("front")}, `"front"`: {Name: text("front")}, "without a number": {},
	} {
		if got := f.called(); got != want {
			t.Errorf("it is called %s, want %s", got, want)
		}
	}
}

func TestShapes(t *testing.T) {
	for text, want := range map[string]string{
		"{1,0,0}{0,1,0}{0,0,1}{9,9,9}":               "",
		"{0.999,0,0}{0,1,0}{0,0,1}{0,0,0}":           "", // at the tolerance, but for rounding
		"{0.998,0,0}{0,1,0}{0,0,1}{0,0,0}":           "scaled-matrix",
		"{-1,0,0}{0,1,0}{0,0,1}{0,0,0}":              "mirrored-matrix",
		"{1,0,0}{0.1,0.99498744,0}{0,0,1}{0,0,0}":    "scaled-matrix",
		"{1,0,0}{0,0.5,0.866025}{0,-0.866025,0.5}{}": "",
		// A turn by 30 degrees about each axis in turn, and the same with one axis the other way round.
		"{0.75,0.433013,-0.5}{-0.216506,0.875,0.433013}{0.625,-0.216506,0.75}{}":  "",
		"{-0.75,-0.433013,0.5}{-0.216506,0.875,0.433013}{0.625,-0.216506,0.75}{}": "mirrored-matrix",
		"{0.75,0.433013,-0.5}{0.216506,-0.875,-0.433013}{0.625,-0.216506,0.75}{}": "mirrored-matrix",
		"{0.75,0.433013,-0.5}{-0.216506,0.875,0.433013}{-0.625,0.216506,-0.75}{}": "mirrored-matrix",
	} {
		m, _ := ParseMatrix(strings.Replace(text, "{}", "{0,0,0}", 1))
		if text == "{0.999,0,0}{0,1,0}{0,0,1}{0,0,0}" {
			m[0][0] = 0.9990001
		}
		if got := m.shape(); got != want {
			t.Errorf("%s: %q, want %q", text, got, want)
		}
	}
}

// TestMapping lays a plan whose origin is at the left edge four metres upstage, half a
// metre below the stage, and whose x points downstage.
func TestMapping(t *testing.T) {
	m := Mapping{Origin: [3]float64{-6, 4, -0.5}, TurnDeg: -90}
	if got := m.Point([3]float64{}); got != m.Origin {
		t.Error(got)
	}
	if got := m.Point([3]float64{1000, 2000, 5500}); !near(got, [3]float64{-4, 3, 5}) {
		t.Error(got)
	}
	if got := (Mapping{TurnDeg: 90}).Direction([3]float64{1, 0, -1}); got != [3]float64{0, 1, -1} {
		t.Error(got) // quarters are exact
	}
	if got := (Mapping{TurnDeg: 45}).Direction([3]float64{1, 0, 0}); !near(got, [3]float64{math.Sqrt2 / 2, math.Sqrt2 / 2, 0}) {
		t.Error(got)
	}
	if (Mapping{TurnDeg: 270}).Direction([3]float64{1, 2, 3}) != (Mapping{TurnDeg: -90}).Direction([3]float64{1, 2, 3}) {
		t.Error("270 and -90 differ")
	}
}

func TestAddresses(t *testing.T) {
	for text, want := range map[string]int{"1": 1, "45": 45, "512": 512, "513": 513, "1537": 1537, "3.101": 1125, "2.10": 522, "2.1": 513, "0": 0, " 7 ": 7, "1.512": 512} {
		if got, ok := ParseAddress(text); !ok || got != want {
			t.Errorf("%q: %d %v, want %d", text, got, ok, want)
		}
	}
	for absolute, want := range map[int][2]int{1: {1, 1}, 45: {1, 45}, 512: {1, 512}, 513: {2, 1}, 1537: {4, 1}, 1125: {3, 101}, 522: {2, 10}} {
		if u, s := (Address{Absolute: absolute}).Universe(); u != want[0] || s != want[1] {
			t.Errorf("%d: %d.%d", absolute, u, s)
		}
	}
	for _, text := range []string{"2.0", "1.513", "-1", "", "x", "1.2.3", "0.5", "64000.1", "1e2", "99999999999999999999"} {
		if got, ok := ParseAddress(text); ok {
			t.Errorf("%q: %d", text, got)
		}
	}
}

func TestUUID(t *testing.T) {
	const want = "f3c1a0b246d84e0e9c0d4f6a7b8c9d0e"
	for text, plain := range map[string]bool{
		"F3C1A0B2-46D8-4E0E-9C0D-4F6A7B8C9D0E":            true,
		"f3 c1 a0 b2 46 d8 4e 0e 9c 0d 4f 6a 7b 8c 9d 0e": false,
		"{f3c1a0b2-46d8-4e0e-9c0d-4f6a7b8c9d0e}":          false,
	} {
		if got, p := uuid(text); got != want || p != plain {
			t.Errorf("%q: %q %v", text, got, p)
		}
	}
	for _, text := range []string{"", "00000000-0000-0000-0000-000000000000", "x", "f3c1"} {
		if got, _ := uuid(text); got != "" {
			t.Errorf("%q: %q", text, got)
		}
	}
}

// id makes the identity of a thing of a test.
func id(n int) string { return fmt.Sprintf("00000000-0000-4000-8000-%012d", n) }

func scene(shared, layers string) string {
	return `<?xml version="1.0" encoding="UTF-8"?>
<GeneralSceneDescription verMajor="1" verMinor="6" provider="Nobody" providerVersion="1">
<UserData/><Scene><AUXData>` + shared + `</AUXData><Layers>` + layers + `</Layers></Scene></GeneralSceneDescription>`
}

func layer(children string) string {
	return `<Layer name="all" uuid="` + id(900) + `"><ChildList>` + children + `</ChildList></Layer>`
}

func lamp(n int, rest string) string {
	return fmt.Sprintf(`<Fixture name="Lamp %d" uuid="%s"><FixtureID>%d</FixtureID><FixtureIDNumeric>%d</FixtureIDNumeric>%s</Fixture>`, n, id(n), n, n, rest)
}

func mustParse(t *testing.T, text string) *Scene {
	t.Helper()
	s, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func codes(s *Scene) string {
	var list []string
	for _, p := range s.Problems {
		list = append(list, p.Code)
	}
	return strings.Join(list, " ")
}

func TestFixture(t *testing.T) {
	text := scene(`<Class uuid="`+id(70)+`" name="front"/><Position uuid="`+id(71)+`" name="bar 1"/>`,
		`<Layer name="low" uuid="`+id(901)+`"><Matrix>{1,0,0}{0,1,0}{0,0,1}{0,0,500}</Matrix><ChildList>
		<GroupObject name="g" uuid="`+id(80)+`"><Matrix>{0,1,0}{-1,0,0}{0,0,1}{1000,0,0}</Matrix><ChildList>`+
			lamp(12, `<Matrix>{1,0,0}{0,1,0}{0,0,1}{200,300,4000}</Matrix><Classing>`+id(70)+`</Classing><GDTFSpec>Nobody@Wash.gdtf</GDTFSpec><GDTFMode>16 slots</GDTFMode>
			<Focus>`+id(81)+`</Focus><Position>`+strings.ToUpper(id(71))+`</Position><Function>key</Function><UnitNumber>3</UnitNumber>
			<Addresses><Address break="1">600</Address><Address break="0">2.10</Address></Addresses>`)+
			`<GroupObject name="inner" uuid="`+id(82)+`"><ChildList>`+lamp(13, ``)+`</ChildList></GroupObject>
		</ChildList></GroupObject></ChildList></Layer>
		<Layer name="second" uuid="`+id(902)+`"><ChildList><FocusPoint name="lectern" uuid="`+id(81)+`"><Matrix>{1,0,0}{0,1,0}{0,0,1}{0,4000,0}</Matrix><Geometries/></FocusPoint></ChildList></Layer>`)
	s := mustParse(t, text)
	if len(s.Problems) != 0 || len(s.Fixtures) != 2 {
		t.Fatalf("%v %v", s.Problems, s.Fixtures)
	}
	f := s.Fixtures[0]
	if f.Number != 12 || f.Name.Words != "Lamp 12" || f.Spec.Words != "Nobody@Wash.gdtf" || f.Mode.Words != "16 slots" || f.Function.Words != "key" || f.Position.Words != "bar 1" || f.Unit != 3 {
		t.Errorf("%+v", f)
	}
	if !near(f.World.Origin(), [3]float64{700, 200, 4500}) {
		t.Error(f.World.Origin())
	}
	if f.Focus == nil || !near(*f.Focus, [3]float64{0, 4000, 0}) {
		t.Errorf("%v", f.Focus)
	}
	if fmt.Sprint(f.Addresses[0].Break, f.Addresses[0].Absolute, f.Addresses[1].Break, f.Addresses[1].Absolute) != "1 522 2 600" {
		t.Errorf("%+v", f.Addresses)
	}
	if at := f.Addresses[0].At; text[at.Start:at.Stop] != "2.10" {
		t.Errorf("%q", text[at.Start:at.Stop])
	}
	// In a group without a matrix, in one with: where that group is.
	if g := s.Fixtures[1]; !g.HasMatrix || !near(g.World.Origin(), [3]float64{1000, 0, 500}) {
		t.Errorf("%+v", g)
	}
}

func TestObjects(t *testing.T) {
	place := `<Matrix>{1,0,0}{0,1,0}{0,0,1}{1000,0,5000}</Matrix>`
	tests := map[string]struct {
		text     string
		fixtures string // numbers
		codes    string
	}{
		"nothing in it":      {scene("", ""), "[]", ""},
		"no uuid":            {scene("", layer(`<Fixture name="x"><FixtureID>3</FixtureID></Fixture>`)), "[3]", ""},
		"letters in the id":  {scene("", layer(`<Fixture><FixtureID>A12b3</FixtureID></Fixture>`)), "[12]", "number-from-id"},
		"an empty id":        {scene("", layer(`<Fixture uuid="`+id(1)+`"><FixtureID></FixtureID><FixtureIDNumeric/></Fixture>`)), "[0]", ""},
		"a pool":             {scene("", layer(`<Fixture><CustomIdType>2</CustomIdType><CustomId>7</CustomId></Fixture>`)), "[7]", ""},
		"another pool":       {scene("", layer(`<Fixture><CustomIdType>7</CustomIdType><CustomId>7</CustomId></Fixture>`)), "[0]", ""},
		"one number twice":   {scene("", layer(lamp(1, place)+strings.Replace(lamp(1, place), id(1), id(2), 1))), "[1 1]", "duplicate-fixture-id"},
		"one identity twice": {scene("", layer(lamp(1, place)+strings.ReplaceAll(lamp(2, place), id(2), id(1)))), "[1 2]", "duplicate-uuid"},
		"shares a number":    {scene("", layer(lamp(1, place)+`<Fixture uuid="`+id(2)+`" multipatch="`+id(1)+`"><FixtureID>1</FixtureID></Fixture>`)), "[1 1]", ""},
		"shares with nobody": {scene("", layer(`<Fixture uuid="`+id(2)+`" multipatch="`+id(1)+`"/>`)), "[0]", "dangling-reference"},
		"no such position":   {scene("", layer(lamp(1, "<Position>"+id(5)+"</Position>"))), "[1]", "dangling-reference"},
		"no such focus":      {scene("", layer(lamp(1, "<Focus>"+id(5)+"</Focus>"))), "[1]", "dangling-reference"},
		"an empty focus":     {scene("", layer(lamp(1, "<Focus/><Position></Position>"))), "[1]", ""},
		"a spec, no mode":    {scene("", layer(lamp(1, "<GDTFSpec>a.gdtf</GDTFSpec>"))), "[1]", "mode-missing"},
		"a bad matrix":       {scene("", layer(lamp(1, "<Matrix>{1}</Matrix>"))), "[1]", "bad-matrix"},
		"ever larger":        {scene("", layer(strings.Repeat("<GroupObject><Matrix>{1e9,0,0}{0,1e9,0}{0,0,1e9}{99,0,0}</Matrix><ChildList>", 2)+lamp(1, "")+strings.Repeat("</ChildList></GroupObject>", 2))), "[1]", "bad-matrix scaled-matrix"},
		"mirrored":           {scene("", layer(lamp(1, "<Matrix>{-1,0,0}{0,1,0}{0,0,1}{90,0,0}</Matrix>"))), "[1]", "mirrored-matrix"},
		"a turned layer":     {scene("", `<Layer><Matrix>{0,1,0}{-1,0,0}{0,0,1}{0,0,0}</Matrix><ChildList>`+lamp(1, place)+`</ChildList></Layer>`), "[1]", "layer-matrix"},
		"bad address":        {scene("", layer(lamp(1, "<Addresses><Address>1.513</Address></Addresses>"))), "[1]", "bad-address"},
		"one break twice":    {scene("", layer(lamp(1, "<Addresses><Address>1</Address><Address break='0'>2</Address></Addresses>"))), "[1]", "bad-address"},
		"metres":             {scene("", layer(lamp(1, "<Matrix>{1,0,0}{0,1,0}{0,0,1}{5,-3,6}</Matrix>"))), "[1]", "small-plan"},
		"nil identity":       {scene("", layer(`<Fixture uuid="00000000-0000-0000-0000-000000000000"><FixtureID>3</FixtureID></Fixture>`)), "[3]", "bad-uuid"},
		"bytes":              {scene("", layer(`<Fixture uuid="f3 c1 a0 b2 46 d8 4e 0e 9c 0d 4f 6a 7b 8c 9d 0e"><FixtureID>3</FixtureID></Fixture>`)), "[3]", "uuid-style"},
		"version 2":          {strings.Replace(scene("", ""), `verMajor="1"`, `verMajor="2"`, 1), "[]", "unsupported-version"},
		"a lamp on a lamp":   {scene("", layer(lamp(1, place+`<ChildList>`+lamp(2, "<ChildPosition>Yoke</ChildPosition>")+`</ChildList>`))), "[1 2]", ""},
		"a hazer as scenery": {scene("", layer(`<SceneObject name="hazer"><FixtureID>91</FixtureID><Addresses><Address>5</Address></Addresses></SceneObject>`)), "[91]", ""},
		"scenery":            {scene("", layer(`<SceneObject name="table"><FixtureID>91</FixtureID></SceneObject><Truss><ChildList>`+lamp(4, place)+`</ChildList></Truss>`)), "[4]", ""},
		"of an unknown kind": {scene("", layer(`<Balloon><Matrix/></Balloon>`+lamp(4, place))), "[4]", ""},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			s := mustParse(t, test.text)
			numbers := []int{}
			for _, f := range s.Fixtures {
				numbers = append(numbers, f.Number)
			}
			if got := fmt.Sprint(numbers); got != test.fixtures {
				t.Errorf("%s, want %s", got, test.fixtures)
			}
			if got := codes(s); got != test.codes {
				t.Errorf("%q, want %q", got, test.codes)
			}
		})
	}
}

func TestBreaks(t *testing.T) {
	for text, want := range map[string]string{
		`<Address break="0">505</Address><Address break="1">600</Address>`: "1:505 2:600",
		`<Address>505</Address>`:                                         "1:505",
		`<Address break="1">505</Address>`:                               "1:505", // nobody starts at 0 here
		`<Address break="1">505</Address><Address break="2">9</Address>`: "1:505 2:9",
		`<Address break="0">0</Address>`:                                 "1:0",
		`<Address break="0"></Address>`:                                  "",
		`<Address break="x">3</Address><Address break="1">9</Address>`:   "1:9", // what is wrong does not hide what follows
	} {
		s := mustParse(t, scene("", layer(lamp(1, "<Addresses>"+text+"</Addresses>"))))
		var got []string
		for _, a := range s.Fixtures[0].Addresses {
			got = append(got, fmt.Sprintf("%d:%d", a.Break, a.Absolute))
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: %v, want %s", text, got, want)
		}
	}
}

func TestNoPlan(t *testing.T) {
	for _, text := range []string{"", "<GDTF/>", "<GeneralSceneDescription/>", "<GeneralSceneDescription><Scene>", "{}"} {
		_, err := Parse(text)
		var told *archive.SyntaxError
		if !errors.As(err, &told) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add(scene(`<Class uuid="`+id(70)+`" name="c"/><Position uuid="`+id(71)+`" name="p"/><Symdef uuid="`+id(72)+`"/>`,
		layer(`<GroupObject uuid="`+id(3)+`"><Matrix>{0,1,0}{-1,0,0}{0,0,1}{1,0,0}</Matrix><ChildList>`+
			lamp(1, `<Matrix>{1,0,0}{0,1,0}{0,0,1}{2,3,4}</Matrix><Focus>`+id(4)+`</Focus><Addresses><Address break="1">2.10</Address></Addresses>`)+
			`</ChildList></GroupObject><FocusPoint uuid="`+id(4)+`"/><Truss name="t"/>`)))
	f.Add(scene("", layer(`<Fixture multipatch="`+id(1)+`"><FixtureID>A1</FixtureID><CustomIdType>1</CustomIdType><CustomId>2</CustomId></Fixture>`)))
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Parse(text)
		if err != nil {
			var told *archive.SyntaxError
			if !errors.As(err, &told) {
				t.Fatal(err)
			}
			return
		}
		for _, p := range s.Problems {
			if p.At.Start < 0 || p.At.Stop < p.At.Start || p.At.Stop > len(text) || p.Code == "" || p.Message == "" {
				t.Fatalf("%+v", p)
			}
		}
		for _, f := range s.Fixtures {
			for _, v := range f.World.Origin() {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%+v", f)
				}
			}
			for _, a := range f.Addresses {
				if u, s := a.Universe(); a.Absolute != 0 && (u < 1 || s < 1 || s > 512) || a.Break < 1 {
					t.Fatalf("%+v", a)
				}
			}
		}
	})
}

// A fixture can be called where it has a number and is patched anywhere.
func TestWhoListens(t *testing.T) {
	for _, c := range []struct {
		number    int
		addresses []int
		want      bool
	}{{1, []int{1}, true}, {1, []int{0, 513}, true}, {1, []int{0}, false}, {1, nil, false}, {0, []int{1}, false}} {
		f := Fixture{Number: c.number}
		for _, at := range c.addresses {
			f.Addresses = append(f.Addresses, Address{Absolute: at})
		}
		if got := f.listens(); got != c.want {
			t.Errorf("number %d at %v listens: %v", c.number, c.addresses, got)
		}
	}
}
