package facts

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/optics/colour"
)

// TestWhatCounts pins the numbers that decide what counts: each of them changes what
// people are told, so none is changed in passing.
func TestWhatCounts(t *testing.T) {
	want := []string{
		"least_share 0.05", "skin 0.36", "dark_stops -3.5", "dark_reflectance 0.1", "white_lowest_k 2000", "white_highest_k 12000",
		"white_duv 0.02", "near_hues_deg 45", "least_aim 0.2", "trace_share 0.1", "near_deg 18", "near_m 2.2", "stray_lx 500", "aside_deg 35", "aside_part 0.1", "hood_deg 25", "usual_view_deg 70", "least_glare_lx 5", "bounced 0.05", "cooler_mired 40", "same_white_mired 0.5", "least_landed 0.1", "body_m2 0.5", "nearest_m 0.5", "floor_margin_m 2",
		"up_part 0.5", "beside_part 0.05", "plain_duv 0.04", "black_backdrop 16", "black_clothes 0.04", "dark_clothes 0.08", "mid_clothes 0.2", "light_clothes 0.45", "white_clothes 0.8", "cheek_deg 60", "carried_part 0.5", "profile_deg 90", "medium_skin 0.16", "dark_skin 0.1", "dim_hall_lx 10",
		"plain_reflectance 0.2", "scattered 0.09", "good_part 0.2", "on_screen 0.5", "usual_wall 0.05", "seated_eyes_m 1.2", "standing_eyes_m 1.6", "seen_level 0.02", "pale_reflectance 0.4", "person_m 0.5", "over_head_m 0.3", "lands_part 0.9", "wrong_white 15", "lens_deg 60", "widest_lens_m 0.3", "widest_panel_m 1.2", "untold_level_pct 50", "white_step_k 100", "least_told_lx 20", "least_lit_lx 113", "beside_m 0.7", "house_m 10", "deepest_contrast 1e+06", "least_wall 0.02", "most_wall 0.1", "least_passed 0.3", "seen_delta_e 2", "jump_s 0.5", "slow_move_s 3", "slow_move_deg_s 10", "usual_swing_deg 40", "long_fade_s 6", "near_stops 1", "alike_stops 0.3333333333333333",
		"alike_delta_e 5", "alike_up 0.1", "alike_moved_pct 20", "stage_black 0.0078125", "black_floor 0.015625", "fast_cues_s 1", "crossing_s 60", "least_flash 0.1", "picture_white_cd_m2 200", "haze_margin 1.02",
		"talk_s 600", "late_s 10", "waiting_part 0.5", "dark_face_stops 2.5", "dim_face_stops 1", "quiet_dim_face_stops 1.5", "bright_face_stops 1", "beside_stops 1.5", "bright_parts 4", "screen_black 0.015625", "drive_black 0.2", "waiting_s 60", "black_stops 16", "no_haze_mg_m3 0.01", "near_peak 0.7937005259840998", "exposure_share 0.9", "digits 9",
	}
	var got []string
	for _, c := range Counts() {
		got = append(got, fmt.Sprintf("%s %g", c.Name, c.Value))
	}
	if diff := gocmp.Diff(want, got); diff != "" {
		t.Errorf("(-pinned +counted)\n%s", diff)
	}
}

// TestWhatHasNoSourceIsPrinted: a number whose comment says that it has no source decides
// what counts, so it is among those that are printed, for anybody to doubt.
func TestWhatHasNoSourceIsPrinted(t *testing.T) {
	named := 0
	for _, folder := range []string{".", "../stage", "../evening"} {
		counts, err := os.ReadFile(filepath.Join(folder, "counts.go"))
		if err != nil {
			t.Fatal(err)
		}
		names, err := filepath.Glob(filepath.Join(folder, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			if strings.HasSuffix(name, "_test.go") || filepath.Base(name) == "counts.go" {
				continue
			}
			file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			for _, d := range file.Decls {
				block, ok := d.(*ast.GenDecl)
				if !ok || block.Tok != token.CONST {
					continue
				}
				for _, s := range block.Specs {
					number := s.(*ast.ValueSpec)
					about := block.Doc.Text() + number.Doc.Text() + number.Comment.Text()
					if !strings.Contains(strings.ReplaceAll(about, "\n", " "), "no source") {
						continue
					}
					for _, n := range number.Names {
						named++
						if !regexp.MustCompile(`\b` + n.Name + `\b`).Match(counts) {
							t.Errorf("%s: %s has no source and is not among the Counts", name, n.Name)
						}
					}
				}
			}
		}
	}
	if named < 40 {
		t.Errorf("%d numbers without a source were found; the way they are looked for is wrong", named)
	}
}

// TestWhatIsWhite: a light within 0.02 Duv of the Planckian locus, between 2000 and
// 12,000 K, is a white; a little beyond either it is a colour.
func TestWhatIsWhite(t *testing.T) {
	for _, c := range []struct {
		kelvin, duv float64
		coloured    bool
	}{
		{4000, 0.0195, false}, {4000, 0.0205, true}, {4000, -0.0195, false}, {4000, -0.0205, true},
		{2015, 0, false}, {1985, 0, true}, {11_900, 0, false}, {12_100, 0, true},
	} {
		xy, ok := colour.PlanckianOffset(c.kelvin, c.duv)
		if !ok {
			t.Fatalf("no light of %v K and %v Duv", c.kelvin, c.duv)
		}
		lamp := oneLamp(t, fmt.Sprintf(`"source": "colour-led", "emitters": [{"name": "one", "x": %.6f, "y": %.6f, "flux_lm": 1000}]`, xy.X, xy.Y), "", `"level": 100, "mix": {"one": 100}`)
		if lamp.Coloured == nil || *lamp.Coloured != c.coloured {
			t.Errorf("%v K and %v Duv: is it a colour? want %v", c.kelvin, c.duv, c.coloured)
		}
	}
}

// TestWhereFilamentsAreSure: below half its voltage the white of a filament is told as
// extrapolated, and under 2,000 K nobody knows it.
func TestWhereFilamentsAreSure(t *testing.T) {
	lamp := func(kelvin, voltage float64) *Lamp {
		return oneLamp(t, fmt.Sprintf(`"source": "tungsten", "flux_lm": 1000, "white_k": %v, "dimmer_curve": "linear", "curve_of": "voltage"`, kelvin), "", fmt.Sprintf(`"level": %v`, voltage))
	}
	if b := lamp(3200, 51).Basis("cct_k"); !b.Known.Sure() {
		t.Errorf("over half its voltage the white is known as %+v", b)
	}
	if b := lamp(3200, 49).Basis("cct_k"); b.Known.Sure() {
		t.Error("under half its voltage the white is told as sure")
	}
	if l := lamp(2010, 100); l.CCT == nil {
		t.Error("2,010 K is told as a guess")
	}
	if l := lamp(1990, 100); l.CCT != nil {
		t.Errorf("1,990 K is told as %s", factText(l.CCT))
	}
}
