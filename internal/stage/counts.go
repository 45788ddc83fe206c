package stage

// Count is a number that decides what counts, for all rules alike: what is dark, white,
// near or lit. A number that decides what is right belongs to a rule, as its limit.
type Count struct {
	Name   string
	Value  float64
	Unit   string // "" for a part or a number of things
	Means  string
	Source string
}

const practice = "common practice, no source"

// Counts are the numbers that decide what counts as light in the room.
func Counts() []Count {
	return []Count{
		{"least_share", LeastShare, "", "of the light on a face: less of it is no key light, and less of the key no back light", practice},
		{"skin", Skin, "", "reflectance of light skin, by which faces are reckoned", "two camera handbooks"},
		{"dark_stops", DarkStops, "stops", "over the face: a background as far under it is dark", practice},
		{"dark_reflectance", DarkReflectance, "", "below it a background is dark where its light is not known", practice},
		{"white_lowest_k", hueLimits.LowestWhite, "K", "below it light is a colour and no white", practice},
		{"white_highest_k", hueLimits.HighestWhite, "K", "above it light is a colour and no white", practice},
		{"white_duv", hueLimits.WhiteDuv, "", "farther from the Planckian locus light is a colour and no white", practice},
		{"near_hues_deg", NearHues, "degrees", "from a larger hue (OKLCh): one that is nearer is a shade of it", practice},
		{"least_aim", leastAim, "", "of its full light: with as much a key light stands on the place that it is aimed at, where nobody knows what arrives there", practice},
		{"trace_share", TraceShare, "", "of the white light on a face: as little, at the warm and at the cool end, tints nobody's cheek", practice},
		{"near_deg", nearDeg, "degrees", "from where a lamp points of which nobody knows what it gives: who stands nearer may be lit by it", practice},
		{"near_m", nearM, "m", "the same on the floor, where nobody knows where it hangs", practice},
		{"stray_lx", strayLux, "lx", "that lamps may give to a face of which nobody says where they point", practice},
		{"aside_deg", asideDeg, "degrees", "from where a lamp points of which nobody knows what it gives: who stands farther beside has little of its light", practice},
		{"aside_part", asidePart, "", "of the light on a face that all such lamps may add to it", "the field angle ends where intensity is 10 % of the maximum (IES definition)"},
		{"hood_deg", hoodDeg, "degrees", "beside the edge of a picture: the hood of the lens keeps off the light of a lamp farther beside", practice},
		{"usual_view_deg", usualViewDeg, "degrees", "that a camera shows at most of which nobody tells its view", practice},
		{"least_glare_lx", leastGlareLx, "lx", "at a lens: a lamp that gives less is seen and makes nothing milky", practice},
		{"bounced", Bounced, "", "of the light on a face: as much comes back to it from all around", practice},
		{"cooler_mired", coolerMired, "mired", "cooler than a camera's white: as much is a filament that is up, and no other white", practice},
		{"same_white_mired", SameWhite, "mired", "two whites as near are the same", practice},
		{"least_landed", leastLanded, "", "of a lamp's light: if less lands on what the room describes, what it is for is not described", practice},
		{"body_m2", BodyArea, "m2", "of each of two planes that a person shows to the light", practice},
		{"nearest_m", nearestM, "m", "from a face: a fixture that is nearer is not reckoned with", "five times the lens of a small spot; from memory"},
		{"floor_margin_m", floorMargin, "m", "beyond the places to which the stage floor reaches", practice},
		{"up_part", upPart, "", "of its light: a lamp with as much is up", practice},
		{"beside_part", besidePart, "", "of the light of the brightest system: another with less does not show beside it", practice},
		{"plain_duv", plainDuv, "", "off the Planckian locus: a lamp made for white that is no farther gives a bad white and no colour", practice},
		{"black_backdrop", blackBackdrop, "stops", "under a face: stands for a background that gives no light", practice},
		{"black_clothes", clothes["black"], "", "reflectance of clothes that a place calls black", practice},
		{"dark_clothes", clothes["dark"], "", "of those that it calls dark", practice},
		{"mid_clothes", clothes["mid"], "", "of those that it calls mid", practice},
		{"light_clothes", clothes["light"], "", "of those that it calls light", practice},
		{"white_clothes", clothes["white"], "", "of those that it calls white", practice},
		{"cheek_deg", cheekDeg, "degrees", "by which a cheek is turned from the face", practice},
		{"carried_part", carriedPart, "", "of the picture of a camera that is carried about: whom it has farther out the others pan to", practice},
		{"profile_deg", ProfileDeg, "degrees", "past a camera: somebody who looks farther is not seen by it", practice},
		{"medium_skin", MediumSkin, "", "reflectance of brown skin", "two camera handbooks"},
		{"dark_skin", darkSkin, "", "reflectance of dark skin", "two camera handbooks"},
		{"dim_hall_lx", dimHallLux, "lx", "on a face, that a hall with its lights down may still give where nobody says what it does", practice},
		{"plain_reflectance", plainReflectance, "", "of the stage floor, of shoulders and of surfaces that tell none", practice},
		{"scattered", scattered, "", "of a beam's light that haze makes seen from the side", "9 % of it over 10 m at 3 mg/m3: textbook, from memory"},
		{"good_part", goodPart, "", "of the light on a place: a lamp with as much serves it", practice},
		{"on_screen", OnScreen, "", "of the ambient light at faces that falls on a screen", practice},
		{"usual_wall", usualWall, "", "of the light on an LED wall that it reflects where nobody says", practice},
		{"seated_eyes_m", seatedEyes, "m", "above the floor where an area of the audience tells nothing else", practice},
		{"standing_eyes_m", standingEyes, "m", "the same in an aisle", practice},
		{"seen_level", seenLevel, "", "of a lamp's light: a smaller change of it is not seen", practice},
		{"pale_reflectance", PaleReflectance, "", "from it a background is never dark behind somebody who is lit", practice},
		{"person_m", personM, "m", "from a place, level, a light may point and still be meant for whoever stands there", practice},
		{"over_head_m", overHeadM, "m", "over a head that a light may point and still be meant for it", practice},
		{"lands_part", landsPart, "", "of the light of a lamp: if as much falls on what the room describes, what it lights is known", practice},
		{"wrong_white", wrongWhite, "mired", "from it on a camera is set to another white than that on a face, and the picture is judged by the white on the face", practice},
		{"lens_deg", lensDeg, "degrees", "of field up to which a lamp shines through a lens where nobody says how large its opening is", practice},
		{"widest_lens_m", widestLens, "m", "across, that such a lens may be", practice},
		{"widest_panel_m", widestPanel, "m", "across, that any other lamp may shine of which nobody says it", practice},
		{"untold_level_pct", untoldLevel, "%", "at which a lamp is tried of which nobody can tell what it gives", practice},
		{"white_step_k", whiteStep, "K", "between the whites that people choose and menus offer", practice},
		{"least_told_lx", LeastTold, "lx", "of daylight, in which a camera sees who is there without a lamp", "the features of a face can just be told: EN 12464-1, from memory"},
		{"least_lit_lx", LeastLit, "lx", "that a face needs about to be lit at all", "2.5 stops over the 20 lx in which the features of a face can just be told: EN 12464-1, from memory"},
		{"beside_m", besideM, "m", "beside somebody a light may be pointed and still be meant for them", practice},
		{"house_m", houseM, "m", "in the house and straight in front a camera stands of which nobody says where", practice},
		{"deepest_contrast", deepestContrast, "", "of a screen on whose black no light falls", practice},
		{"least_wall", leastWall, "", "of the light on it that an LED wall reflects at least where nobody says", practice},
		{"most_wall", mostWall, "", "and at most", practice},
		{"least_passed", leastPassed, "", "of its light that a lamp keeps behind the densest of filters of which nobody tells more", practice},
		{"seen_delta_e", seenColour, "", "CIEDE2000: a smaller change of a lamp's colour is not seen", practice},
	}
}
