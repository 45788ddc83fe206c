// Package scene is what the pictures of a show are drawn from, as plain values: the
// evening on its clock, the stage in some looks, faces as a camera sees them, and
// addresses.
//
// Measuring fills it in, drawing reads it; nothing here computes. A pointer that is nil
// is unknown, and never a zero. A newcomer's mistake would be to put words for people
// here: what is drawn says them.
package scene

// Scene is one show.
type Scene struct {
	Segments  []Segment
	Cues      []Cue // in their order
	EndS      *float64
	NoClock   []string // what would put the evening on a clock; empty if it is
	Haze      []Air    // minute by minute; nil without a haze machine
	NoHaze    []string // why the haze is not known
	Screens   []string // names, in the order of the room
	Limits    Limits
	Room      *Room    // nil: no geometry
	NoRoom    []string // what would draw the stage
	Stages    []Stage  // of the looks that were chosen, in the order of the evening
	Faces     []Face   // likewise; what looks the same stands once
	Universes []Universe
	Walk      []Focus // the places in order, for somebody with a meter
	Afters    []After // what orders change, by their place in the list
	LeftOut   []string
}

// RGB is linear light through the white of a camera: equal parts are white to it.
type RGB [3]float64

// Limits are where rules speak; nil where no rule of that kind looks.
type Limits struct {
	NearPeakStops *float64 // from the brightest moment within which light counts as full
	NearPeakPct   *float64 // of the time that may be
	ClearHaze     *float64 // mg/m3, under which air counts as clear
	ScreenStops   *float64 // over the dimmest face
	FaceUnder     *float64 // stops under what the cameras want
	WhiteMired    *float64 // between a face and its camera
	Flashes       *float64 // a second
}

// Segment is an item of the running order.
type Segment struct {
	Name, Kind string
	StartS     float64
	LengthS    *float64
	Known      bool // StartS is on the evening's clock
}

// Cue is a look as the evening and the strip show it.
type Cue struct {
	Number, Name string
	Segment      int // -1 for none
	StartS       *float64
	Assumed      bool // the time is spread, not said
	FadeS        float64
	Stops        *float64 // light of the picture under its brightest moment; 0 or less
	Dark         bool     // there is none
	Hues         []Hue    // of the coloured light, largest share first
	HuesKnown    bool
	People       int
	FaceLow      *float64 // stops of the dimmest face over what its camera wants
	FaceHigh     *float64
	FaceAssumed  bool
	Showings     []Showing
	Flashes      *float64 // a second, at most
}

// Hue is a colour by its share of the coloured light.
type Hue struct {
	Share float64 // 0 to 1
	Name  string
	Light RGB
}

// Showing is a screen in a look.
type Showing struct {
	Screen    int // among Scene.Screens
	OverFace  *float64
	DrivePct  *float64
	FacesDark bool
}

// Air is the haze at a time.
type Air struct{ AtS, MgM3 float64 }

// Room is what stands and hangs in it, in metres: x to the right as seen from the
// house, y upstage, z up.
type Room struct {
	Surfaces []Surface
	Cameras  []Camera
	Bars     [][2]Point
	Unplaced int // lamps that nobody placed
}

// Point is a place in the room.
type Point struct{ X, Y, Z float64 }

// Surface is a flat rectangle.
type Surface struct {
	Name, Kind string
	Corners    [4]Point // lower left, lower right, upper right, upper left as seen from its front
}

// Camera is one with a place.
type Camera struct {
	Name    string
	At      Point
	Aim     *Point
	ViewDeg *float64
	WhiteK  *float64
	Main    bool
}

// Stage is the room in one look.
type Stage struct {
	Cue       int
	Lamps     []Lamp
	People    []Person
	Above     Grid // lux at the height of faces, upright and turned to the house: x by y
	Front     Grid // the same on an upright plane through the people: x by z
	FrontY    float64
	FaceZ     float64
	Screens   []ScreenLight
	Wanted    *float64 // lux that the main camera is set for
	Missing   []string // what keeps light out of it
	Assumed   bool     // a lamp in it rests on an assumption
	HasPeople bool
}

// ScreenLight is what a screen does.
type ScreenLight struct {
	Name     string
	DrivePct *float64
	Light    RGB
}

// Lamp is a fixture that has a place.
type Lamp struct {
	Channel int
	Purpose string
	At      Point
	Lit     bool
	Unknown bool // it is lit and nobody knows how
	Light   RGB
	End     *Point // where its axis meets face height, the floor or what it is aimed at
	Cut     bool   // it has shutters in
	Lumens  float64
}

// Person is a place in a look.
type Person struct {
	Place     string
	At        Point // of the face
	FacingDeg *float64
	Here      bool // somebody is there in this look
	Lux       *float64
	Kelvin    *float64
	BackLux   *float64
	Ratio     *float64 // of back to key
	DarkBack  bool     // the cameras see something dark behind it
	Known     bool     // nothing of it was assumed
}

// Grid is light on points that are evenly spaced.
type Grid struct {
	X0, Y0, DX, DY float64
	NX, NY         int
	Lux            []float64
}

// Face is somebody on a place as one camera sees them.
type Face struct {
	Place    string
	Cue      int   // the first in which it is so
	Cues     []int // all of them
	Camera   string
	CameraK  *float64
	Lux      float64
	Wanted   *float64 // lux that the camera is set for; nil where it sets itself or nobody says
	Kelvin   *float64
	Duv      *float64
	YawDeg   float64 // how far the face is turned from the camera, to the right of the picture
	Rays     []Ray
	Rims     []Ray // from behind, on head and shoulders
	BackLux  float64
	Ratio    *float64
	Ambient  float64
	Known    bool // the ambient light is said
	Backdrop string
	Kind     string
	Stops    *float64 // of the backdrop over a face of light skin
	Behind   RGB
	Skin     string // light, medium, dark, or "" where nobody says
	Rests    []string
	Others   []Other // the other cameras, where their white differs
	Missing  []string
}

// Other is another camera that sees the same face.
type Other struct {
	Camera string
	White  float64
	Gain   RGB // from the light of the face to its own
}

// Ray is the light of a lamp on a face.
type Ray struct {
	Channel               int
	Lux                   float64 // on the plane of the face, or of the shoulders
	AzimuthDeg, Elevation float64 // from the way the face looks, to the right of who looks at it; above level
	Light                 RGB     // of luminance 1
}

// Universe is a line of 512 slots.
type Universe struct {
	Number int
	Blocks []Block
	Clash  bool
}

// Block is the slots of a fixture.
type Block struct {
	Channel     int
	First, Last int // Last is beyond 512 where it does not fit
	Clash       bool
	Order       int // that moves it, from 1; 0 for none
	ToUniverse  int // where it goes
	ToFirst     int
	ToLast      int
}

// Focus is a place for somebody who walks with a meter.
type Focus struct {
	Place    string
	Cue      string
	Channels string
	Lux      *float64 // what will be there when the orders are done
	Kelvin   *float64
	Wanted   *float64 // the white of the camera, where that of the face is another; nil where it fits
	Assumed  bool
}

// After is what one order changes in what was measured: the number that its gravest
// finding is about, before and behind it.
type After struct {
	Order    int // from 0
	What     string
	Unit     string
	Was, Is  *float64
	Limit    *float64
	LimitLow bool  // less than the limit is wrong; else more
	FaceWas  *Face // the face that it is about
	FaceIs   *Face
}
