package measure

import (
	"fmt"
	"strconv"
	"strings"
)

// Notation is a way of naming teeth.
type Notation string

// The notations.
const (
	FDI       Notation = "FDI"       // two digits, ISO 3950: 46
	Universal Notation = "Universal" // 1–32 and A–T, American Dental Association: 30
	Palmer    Notation = "Palmer"    // quadrant and position: LR6
)

// Tooth is one of the 32 permanent or 20 primary teeth as an FDI number
// (ISO 3950): 11–18, 21–28, 31–38, 41–48; 51–55, 61–65, 71–75, 81–85.
type Tooth int

// quadrant returns 1–4 for permanent and 5–8 for primary teeth.
func (t Tooth) quadrant() int { return int(t) / 10 }

// position returns 1 at the midline to 8, or to 5 for primary teeth.
func (t Tooth) position() int { return int(t) % 10 }

// Primary reports whether the tooth is one of the first dentition.
func (t Tooth) Primary() bool { return t.quadrant() > 4 }

// Upper reports whether the tooth is one of the upper jaw.
func (t Tooth) Upper() bool { return (t.quadrant()-1)%4 < 2 }

// Valid reports whether there is such a tooth.
func (t Tooth) Valid() bool {
	most := 8
	if t.Primary() {
		most = 5
	}
	return t.quadrant() >= 1 && t.quadrant() <= 8 && t.position() >= 1 && t.position() <= most
}

// palmerQuadrants are the quadrants 1–4 as seen facing the patient.
var palmerQuadrants = [4]string{"UR", "UL", "LL", "LR"}

// In returns the name of the tooth in a notation. Primary teeth have the
// letters A–T in Universal and A–E behind the quadrant in Palmer.
func (t Tooth) In(n Notation) string {
	q, p := (t.quadrant()-1)%4, t.position()
	switch n {
	case Universal:
		// The numbers run clockwise from the upper right third molar.
		per := 8
		if t.Primary() {
			per = 5
		}
		number := q*per + p
		if q%2 == 0 {
			number = (q+1)*per + 1 - p
		}
		if t.Primary() {
			return string(rune('A' + number - 1))
		}
		return strconv.Itoa(number)
	case Palmer:
		if t.Primary() {
			return palmerQuadrants[q] + string(rune('A'+p-1))
		}
		return palmerQuadrants[q] + strconv.Itoa(p)
	}
	return strconv.Itoa(int(t))
}

// ParseTooth reads the name of a tooth in a notation; letters may be small.
func ParseTooth(name string, n Notation) (Tooth, error) {
	key := strings.ToUpper(strings.TrimSpace(name))
	for _, t := range Teeth() {
		if t.In(n) == key {
			return t, nil
		}
	}
	return 0, fmt.Errorf("there is no tooth %q in %s notation", name, n)
}

// Teeth returns all 52 teeth, permanent ones first, in FDI order.
func Teeth() []Tooth {
	var all []Tooth
	for q := 1; q <= 8; q++ {
		for p := 1; p <= 8; p++ {
			if t := Tooth(10*q + p); t.Valid() {
				all = append(all, t)
			}
		}
	}
	return all
}
