package dicomfile

import (
	"math"
	"strings"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// Vector is a position in mm or a direction in the patient coordinate system
// (PS3.3 C.7.6.2.1.1): x grows to the patient's left, y to the back, z to the
// head.
type Vector [3]float64

// Dot returns the inner product.
func (v Vector) Dot(w Vector) float64 { return v[0]*w[0] + v[1]*w[1] + v[2]*w[2] }

// Cross returns the outer product.
func (v Vector) Cross(w Vector) Vector {
	return Vector{v[1]*w[2] - v[2]*w[1], v[2]*w[0] - v[0]*w[2], v[0]*w[1] - v[1]*w[0]}
}

func (v Vector) unit() Vector {
	n := math.Sqrt(v.Dot(v))
	return Vector{v[0] / n, v[1] / n, v[2] / n}
}

// Plane is where a slice lies in the patient.
type Plane struct {
	// Position is the centre of the top-left pixel in mm.
	Position Vector
	// Row points along a row, toward higher x; Column down a column, toward
	// higher y. Both have length 1.
	Row, Column Vector
}

// Normal returns the direction of the slice's normal, Row × Column, of length 1.
func (p Plane) Normal() Vector { return p.Row.Cross(p.Column).unit() }

// orthogonal is how far two unit directions may be from a right angle (their
// inner product) and from length 1: what six printed digits need. From memory
// of peers, which use 1e-4 to 1e-3.
const orthogonal = 1e-3

// group returns the functional group of frame i that sequence t holds: its
// own, else the one shared by all frames, else the top level of the header,
// where classic objects have the same attributes (PS3.3 C.7.6.16).
func (f *File) group(i int, t tag.Tag) dataSet {
	if i < len(f.perFrame) && f.perFrame[i].has(t) {
		return f.perFrame[i].item(t)
	}
	if f.shared.has(t) {
		return f.shared.item(t)
	}
	return f.header
}

// Plane returns where frame i, from 0, lies in the patient; false where the
// header does not say so or contradicts itself.
func (f *File) Plane(i int) (Plane, bool) {
	at := f.group(i, tag.PlanePositionSequence).numbers(tag.ImagePositionPatient)
	dir := f.group(i, tag.PlaneOrientationSequence).numbers(tag.ImageOrientationPatient)
	if len(at) != 3 || len(dir) != 6 {
		return Plane{}, false
	}
	p := Plane{Position: Vector(at), Row: Vector(dir[:3]), Column: Vector(dir[3:])}
	for _, v := range []float64{p.Row.Dot(p.Row) - 1, p.Column.Dot(p.Column) - 1, p.Row.Dot(p.Column)} {
		if math.Abs(v) > 2*orthogonal {
			return Plane{}, false
		}
	}
	p.Row, p.Column = p.Row.unit(), p.Column.unit() // printed digits left them off by 1e-6
	return p, true
}

// direction names the nearest axis of the patient; the next one too where the
// direction is oblique by more than 30°.
func direction(v Vector) string {
	names := [3][2]string{{"left", "right"}, {"back", "front"}, {"head", "feet"}}
	order := []int{0, 1, 2}
	for i := range order { // largest component first
		for j := i + 1; j < 3; j++ {
			if math.Abs(v[order[j]]) > math.Abs(v[order[i]]) {
				order[i], order[j] = order[j], order[i]
			}
		}
	}
	name := func(axis int) string {
		if v[axis] < 0 {
			return names[axis][1]
		}
		return names[axis][0]
	}
	if math.Abs(v[order[1]]) > 0.5 { // sin 30°
		return name(order[0]) + " and " + name(order[1])
	}
	return name(order[0])
}

// letterDirection names a direction given in the letters of PS3.3
// C.7.6.1.1.1; other text is returned as it is.
func letterDirection(s string) string {
	names := map[rune]string{'L': "left", 'R': "right", 'A': "front", 'P': "back", 'H': "head", 'F': "feet"}
	var words []string
	for _, letter := range s {
		if names[letter] == "" {
			return s
		}
		words = append(words, names[letter])
	}
	return strings.Join(words, " and ")
}
