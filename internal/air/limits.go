package air

// Limit is a published exposure limit for theatrical fog or haze in the breathing zone.
type Limit struct {
	Aerosol       string
	PeakMgPerM3   float64 // at any time
	EightHourMean float64 // time-weighted, mg/m³
	Source        string
	Status        string // "verified" as far as said, or "from memory"
}

// Limits are the published limits by kind of aerosol. Peaks of glycol smoke, and raised mineral-oil haze, are linked
// with throat and airway symptoms (the study of 2000, below): singers and speakers are the exposed ones. Staying below a limit
// does not make an air harmless; the fluid maker's data sheet and local rules come first.
var Limits = []Limit{
	{"glycols", 40, 10, "ANSI E1.5 (2003 and later); ceiling also in Health effects evaluation of theatrical smoke, haze and pyrotechnics (2000)", "verified (second-hand)"},
	{"glycerol", 50, 10, "ANSI E1.5", "from memory"},
	{"mineral oil", 25, 5, "Health effects evaluation of theatrical smoke, haze and pyrotechnics (2000); 5 is also the US occupational limit", "verified (study); from memory (occupational limit)"},
}

// Fluid says how long the haze of a kind of fluid hangs in still air.
type Fluid struct {
	Aerosol         string  // as in [Limits]
	SettlingPerHour float64 // settling and drying up together, for [Room]
	Source          string
}

// Fluids are assumptions for when nothing is known of the fluid. A hang time of x hours down to a tenth is a
// rate of ln(10)/x = 2.303/x per hour.
var Fluids = []Fluid{
	// Published is 0.6 per hour for ambient particles of 0.3 µm in unventilated rooms [verified]. Oil droplets of
	// a hazer are of about that size up to a few times it and do not dry up. It means 3.8 h down to a tenth.
	{"mineral oil", 0.6, "0.6 per hour was measured for ambient 0.3 µm particles (verified); taking it for oil haze is common practice, no source"},
	// Water-based haze dries up as well as settling: about an hour down to a tenth.
	{"glycols", 2.3, "common practice, no source: about an hour down to a tenth"},
	// Glycerol is slower to dry: about two hours down to a tenth.
	{"glycerol", 1.15, "common practice, no source: about two hours down to a tenth"},
}

// SettlingOff is how many times faster or slower than assumed in [Fluids] a haze may settle and dry: it hangs longer in moist,
// still air than in dry air that moves. Common practice, no source.
const SettlingOff = 2.0

// FluidFor finds the assumptions for an aerosol of [Fluids] by its name there.
func FluidFor(aerosol string) (Fluid, bool) {
	for _, f := range Fluids {
		if f.Aerosol == aerosol {
			return f, true
		}
	}
	return Fluid{}, false
}

// Levels at which beams show, in mg/m³. Common practice, no source: the published hint is only that light to moderate
// haze is often stated as up to about 10 mg/m³ [verified, trade page].
//
// The reasoning: droplets much larger than a wavelength take away light from twice their shadow, which is
// 3/(2 r ρ) = 3 m² per gram at a diameter of 1 µm and the density of water (textbook, from memory). At 1 mg/m³ that
// is 0.003 per metre, so 10 m of beam scatter 3 % of its light to the side: seen against a dark
// background, missed against a lit one. At 2 mg/m³ it is 6 %.
const (
	BeamsFaint = 1.0 // beams begin to show; below it the air passes for clear
	BeamsClear = 2.0 // beams read well
)

// Start is what a word for the haze that hangs in a room before a show means, in mg/m³: usually, and at least and at most.
type Start struct{ Usual, Least, Most float64 }

// Starts are the words of show files: with a thin haze beams just show, with a full one they show plainly. Common
// practice, no source.
var Starts = map[string]Start{"none": {}, "thin": {1.4, BeamsFaint, BeamsClear}, "full": {3, BeamsClear, 5}}
