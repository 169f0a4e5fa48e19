package measure

// Finding is one result: a quantity, the method that gave it, and what the
// reader must know before trusting it.
type Finding struct {
	Image string // id of the image; empty where several images are compared
	Of    string // "canal 46 ML", "lesion 46 D", "image"
	What  string // one of the What… names
	Quantity
	Method   string
	Cautions []string
	Verdict  string // of a change or a difference, one of the Verdict… texts; empty for other findings and where none can be given
}

// Spacing is the pixel spacing that an image file states, in mm, and how far
// it is to be trusted. The zero value means that the file states none.
type Spacing struct {
	RowMM float64 // distance between rows (down)
	ColMM float64 // distance between columns (to the right)
	Kind  SpacingKind
	Note  string // what the file said, conflicts included
}

// Stated reports whether the file states a usable spacing.
func (s Spacing) Stated() bool { return s.RowMM > 0 && s.ColMM > 0 }

// SpacingKind says where a stated spacing holds (DICOM PS3.3, 10.7).
type SpacingKind string

// Kinds of stated spacing.
const (
	SpacingNone         SpacingKind = ""
	SpacingCalibrated   SpacingKind = "calibrated"     // corrected to the patient: GEOMETRY or FIDUCIAL
	SpacingDetector     SpacingKind = "detector plane" // at the detector's front plane: magnified
	SpacingScan         SpacingKind = "scan plane"     // of a scanned film or a resolution tag
	SpacingVolume       SpacingKind = "volume"         // reconstructed volume: true
	SpacingUndetermined SpacingKind = "undetermined"   // Pixel Spacing alone
)

// Grey gives the stored grey values of an image to findings that need them.
type Grey interface {
	// Size returns width and height in pixels.
	Size() (w, h int)
	// At returns the stored value at column x, row y, both inside the size.
	At(x, y int) float64
}

// Given is what the images themselves say, by image id: the spacing each file
// states and, where at hand, its grey values.
type Given struct {
	Spacing map[string]Spacing
	Grey    map[string]Grey
}
