package measure

// Marks is everything a clinician put on the images of one case, and the
// whole input of [Compute]. Its JSON form is version 1 of the marks file.
type Marks struct {
	Version int          `json:"version"`
	Images  []ImageMarks `json:"images"`
	Views   []View       `json:"views,omitempty"`
	Recalls []Recall     `json:"recalls,omitempty"`
	// ClickPX is the standard uncertainty in px of this reader's marks, from
	// repeated marks ([ReaderClick]); nil means [DefaultClick].
	ClickPX *float64 `json:"click_px,omitempty"`
}

// ImageMarks are the marks on one radiograph. Positions are pixels of that
// image as the file stores it.
type ImageMarks struct {
	ID   string `json:"id"`
	File string `json:"file"`
	// SHA256 is the hex digest of the file's bytes; it names the original in
	// the casebook. Empty in marks that only name a file.
	SHA256 string `json:"sha256,omitempty"`
	Stage  string `json:"stage,omitempty"`
	Date   string `json:"date,omitempty"` // YYYY-MM-DD
	// Mirrored flags an image whose left and right are exchanged; all its
	// findings then say so.
	Mirrored bool `json:"mirrored,omitempty"`
	// TurnedDeg is by how much the image, mirrored or not, is shown turned
	// clockwise: 0, 90, 180 or 270. It changes no position and no finding.
	TurnedDeg    int           `json:"turned_deg,omitempty"`
	Calibration  []Calibration `json:"calibration,omitempty"`
	Canals       []Canal       `json:"canals,omitempty"`
	Lesions      []Lesion      `json:"lesions,omitempty"`
	Fillings     []Filling     `json:"fillings,omitempty"`
	Obstructions []Obstruction `json:"obstructions,omitempty"`
	Posts        []Post        `json:"posts,omitempty"`
}

// Stage names, in order of treatment.
const (
	StagePreOperative  = "pre-operative"
	StageWorkingLength = "working-length"
	StageConeFit       = "cone-fit"
	StagePostOperative = "post-operative"
	StageRecall        = "recall"
)

// How marks came about: the values of By in a calibration, a canal, a lesion, a
// filling, an obstruction or a post. Empty where it was not recorded.
const (
	ByHand      = "hand"      // each mark placed by the reader
	ByAssist    = "assisted"  // found by the program, taken as it was
	ByCorrected = "corrected" // found by the program, then corrected by hand
)

// Kinds of calibration.
const (
	CalibrationFile     = "file"     // an instrument of known length, marked tip to stop
	CalibrationDistance = "distance" // any object of known size between two marks
	CalibrationStated   = "stated"   // the pixel spacing that the image file states
	CalibrationVolume   = "volume"   // a canal whose length was measured in a volume, marked on the image
)

// Calibration is one reference for the scale of an image. LengthMM is the
// known length and UMM its standard uncertainty, both in mm; a nil UMM means
// [DefaultKnownLength] for a file, [DefaultKnownDistance] for a distance,
// [DefaultVolumeLength] for a length from a volume. Tooth names the tooth the reference lies on,
// where known.
type Calibration struct {
	Kind     string   `json:"kind"`
	LengthMM float64  `json:"length_mm,omitempty"`
	UMM      *float64 `json:"u_mm,omitempty"`
	Marks    []Point  `json:"marks,omitempty"`
	Tooth    string   `json:"tooth,omitempty"`
	By       string   `json:"by,omitempty"` // how its marks came about: one of the By… values
}

// DefaultKnownLength is the standard uncertainty, in mm, of a length set with
// a stop against a ruler. Common practice, no source.
const DefaultKnownLength = 0.25

// DefaultKnownDistance is the standard uncertainty, in mm, of the size of a
// made object: a marker ball, a grid, a printed scale bar. Common practice, no
// source; give UMM where the maker states a tolerance.
const DefaultKnownDistance = 0.01

// DefaultVolumeLength is the standard uncertainty, in mm, of a canal length
// measured in a cone-beam volume: one voxel at each end at the usual 0.2 mm.
// Common practice, no source.
const DefaultVolumeLength = 0.3

// Canal is the trace of one canal: Marks[0] is the coronal reference point,
// the last mark the radiographic apex, Marks[Orifice] the orifice. CurveStart
// is the index of the mark where the curve starts; nil: found from the trace.
type Canal struct {
	Tooth      string   `json:"tooth"`
	Name       string   `json:"name"`
	Marks      []Point  `json:"marks"`
	Orifice    int      `json:"orifice,omitempty"`
	CurveStart *int     `json:"curve_start"`
	OffsetMM   *float64 `json:"offset_mm,omitempty"`
	EALMM      *float64 `json:"eal_mm,omitempty"`
	// Lengths recorded during treatment, in mm from the same reference point.
	UsedMM    *float64 `json:"used_mm,omitempty"`     // working length used
	ConeFitMM *float64 `json:"cone_fit_mm,omitempty"` // of the master cone
	FilledMM  *float64 `json:"filled_mm,omitempty"`   // of the root filling
	By        string   `json:"by,omitempty"`          // how its marks came about: one of the By… values
}

// Lesion is the closed outline of a periapical radiolucency and the reader's
// score on the periapical index (PAI, 1–5).
type Lesion struct {
	Tooth   string  `json:"tooth"`
	Name    string  `json:"name"`
	Outline []Point `json:"outline"`
	PAI     *int    `json:"pai,omitempty"`
	PAI2    *int    `json:"pai_second,omitempty"` // second reading, kept beside the first
	// What a volume gave: its volume with standard uncertainty in mm³, and the
	// longest diameters in three planes in mm; whether cortical bone is expanded
	// (E) or destroyed (D), as the reader saw it.
	VolumeMM3   *float64  `json:"volume_mm3,omitempty"`
	VolumeUMM3  *float64  `json:"volume_u_mm3,omitempty"`
	DiametersMM []float64 `json:"diameters_mm,omitempty"`
	Expanded    *bool     `json:"cortex_expanded,omitempty"`
	Destroyed   *bool     `json:"cortex_destroyed,omitempty"`
	By          string    `json:"by,omitempty"` // how the outline came about: one of the By… values
}

// Filling is the apical end of a root filling and the radiographic apex.
type Filling struct {
	Tooth string `json:"tooth"`
	Canal string `json:"canal"`
	Tip   Point  `json:"tip"`
	Apex  Point  `json:"apex"`
	// Widths are places across the filling, each as its two edges, from the tip
	// on; Voids are outlines of voids, an empty list where there are none.
	Widths [][2]Point `json:"widths,omitempty"`
	Voids  [][]Point  `json:"voids,omitzero"`
	By     string     `json:"by,omitempty"` // how its marks came about: one of the By… values
}

// Kinds of obstruction.
const (
	ObstructionInstrument = "instrument"
	ObstructionMetalPoint = "metal point"
	ObstructionPost       = "post"
)

// Obstruction is something in a canal, marked from its coronal to its apical
// end. Kind is "instrument", "metal point" or "post".
type Obstruction struct {
	Tooth string  `json:"tooth"`
	Canal string  `json:"canal"`
	Kind  string  `json:"kind"`
	Marks []Point `json:"marks"`
	// Sides are marks on the root surface beside it.
	Sides []Point `json:"sides,omitempty"`
	By    string  `json:"by,omitempty"` // how its marks came about: one of the By… values
}

// Post is a post in a canal, marked from its coronal end to its tip. Top,
// Margin and Apex are the top of the crown, the crown margin and the
// radiographic apex, where marked.
type Post struct {
	Tooth  string  `json:"tooth"`
	Canal  string  `json:"canal"`
	Marks  []Point `json:"marks"`
	Top    *Point  `json:"top,omitempty"`
	Margin *Point  `json:"margin,omitempty"`
	Apex   *Point  `json:"apex,omitempty"`
	By     string  `json:"by,omitempty"` // how its marks came about: one of the By… values
}

// How the detector was held in two views.
const (
	DetectorParallel = "parallel" // against the teeth in both; the default
	DetectorTurned   = "turned"   // perpendicular to the beam in both
)

// View pairs two images of the same tooth whose horizontal beam direction
// differs by AngleDeg. Detector is "parallel" (held against the teeth in
// both) or "turned" (perpendicular to the beam in both).
type View struct {
	Images   [2]string `json:"images"`
	AngleDeg float64   `json:"angle_deg"`
	Detector string    `json:"detector,omitempty"`
}

// Outcome classes of a recall, as the reader judged it.
const (
	OutcomeHealed    = "healed"
	OutcomeHealing   = "healing"
	OutcomeNotHealed = "not healed"
)

// Recall compares what is seen on two images. The images are brought into one
// frame by Map where it is given, else by Pairs: marks on structures that do
// not change, each [before, after]. Pairs beside a map check it.
type Recall struct {
	Before string     `json:"before"`
	After  string     `json:"after"`
	Pairs  [][2]Point `json:"pairs"`
	Lesion string     `json:"lesion,omitempty"`
	// Map takes px of the image after to px of the image before; it was made from
	// the images themselves, with the model of that name (one of the Model…
	// values). MapUPX is the standard uncertainty, in px of the image before and in
	// each direction, of where it puts a point; nil means [DefaultMap].
	Map    *Alignment `json:"map,omitempty"`
	MapUPX *float64   `json:"map_u_px,omitempty"`
	Model  string     `json:"model,omitempty"`
	// What the reader decided: the outcome class and the date of the next recall
	// (YYYY-MM-DD; [NextRecall] proposes one). Empty: not decided.
	Outcome string `json:"outcome,omitempty"`
	Next    string `json:"next,omitempty"`
}

// DefaultMap is the standard uncertainty in px of a map that came without one.
// Common practice, no source.
const DefaultMap = 0.5
