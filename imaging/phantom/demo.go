package phantom

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/png"
	"math"

	"rootrule/imaging"
	"rootrule/measure"
)

// Case is the demo case: an invented person's lower left second molar through
// treatment and recall.
type Case struct {
	Code      string // in place of a name
	Tooth     string // FDI
	History   string
	Exposures []Exposure
	// Marks are those of a careful reader on all exposures: near the true
	// positions, with seeded click noise.
	Marks measure.Marks
}

// Exposure is one radiograph of the demo case.
type Exposure struct {
	ID, FileName string
	Stage        string // one of the measure.Stage… names
	Date         string // YYYY-MM-DD
	Image        *imaging.Image
	Truth        Truth
}

// PNG returns the exposure as a grey PNG file of 16 bits.
func (e Exposure) PNG() ([]byte, error) {
	m := e.Image
	g := image.NewGray16(image.Rect(0, 0, m.Width, m.Height))
	for i, v := range m.Pix {
		binary.BigEndian.PutUint16(g.Pix[2*i:], v)
	}
	var b bytes.Buffer
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := enc.Encode(&b, g); err != nil {
		return nil, fmt.Errorf("writing %s as PNG: %w", e.FileName, err)
	}
	return b.Bytes(), nil
}

// visit is what one exposure of the demo shows and how it was taken.
type visit struct {
	id, stage, date string
	beamDeg         float64 // horizontal, positive with the tube moved to the distal
	geometry        Geometry
	tone            Tone
	photons         float64
	lesion          [2]float64 // semi-axes, mm
	crown           func(*random) (carious, restored *cavity)
	file            string // the canal with the file in place
	filled          bool
}

// workingBeamDeg is how far to the distal the tube stands in the
// working-length exposure, so that the two mesial canals part.
const workingBeamDeg = 8

// demoGeometry is a size 2 sensor lying flat: 34 × 25.4 mm in 0.02 mm pixels,
// with the magnification of about 5 % of the paralleling technique.
func demoGeometry(warp Matrix, foreshortening float64) Geometry {
	return Geometry{Width: 1700, Height: 1270, PixelMM: 0.02, Magnification: 1.05, Foreshortening: foreshortening, Warp: warp}
}

// turned is a rotation about the middle of the demo picture with a shift and a
// slight perspective, in pixels.
func turned(deg, dx, dy, px, py float64) Matrix {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	const cx, cy = 849.5, 634.5
	back := Matrix{{1, 0, cx + dx}, {0, 1, cy + dy}, {0, 0, 1}}
	turn := Matrix{{cos, -sin, 0}, {sin, cos, 0}, {px, py, 1}}
	centre := Matrix{{1, 0, -cx}, {0, 1, -cy}, {0, 0, 1}}
	return back.times(turn).times(centre)
}

func demoVisits() []visit {
	return []visit{
		{
			id: "pre", stage: measure.StagePreOperative, date: "2024-03-12",
			geometry: demoGeometry(turned(1.6, 0, 0, 0, 0), 1), photons: 1500,
			tone: Tone{Gain: 23500, Offset: 300}, lesion: [2]float64{2.25, 1.75}, crown: deepCaries,
		},
		{
			id: "wl", stage: measure.StageWorkingLength, date: "2024-03-19", beamDeg: workingBeamDeg,
			geometry: demoGeometry(turned(0.4, -22, 12, 0, 0), 1), photons: 1300,
			tone: Tone{Gain: 22500, Offset: 500}, lesion: [2]float64{2.25, 1.75}, crown: openAccess, file: "ML",
		},
		{
			id: "recall", stage: measure.StageRecall, date: "2025-03-25",
			geometry: demoGeometry(turned(3.2, 34, -6, 6e-6, -9e-6), 0.985), photons: 1400,
			tone: Tone{Gain: 21500, Gamma: 0.9, Offset: 700}, lesion: [2]float64{1.2, 0.95}, crown: buildUp, filled: true,
		},
	}
}

// DemoCode names the demo case, in place of a patient.
const DemoCode = "DEMO 37"

// Demo makes the demo case. The seed changes bone texture, noise and clicks,
// not the anatomy.
func Demo(seed uint64) Case {
	c := Case{
		Code: DemoCode, Tooth: "37",
		History: "Necrotic pulp after a deep distal cavity; first root canal treatment, recall after one year.",
	}
	for i, v := range demoVisits() {
		c.Exposures = append(c.Exposures, v.expose(seed, uint64(i)))
	}
	c.Marks = demoMarks(seed, c.Exposures)
	return c
}

func (v visit) expose(seed, number uint64) Exposure {
	j, truth := v.scene(seed)
	img := expose(seed+number*0x51ed27, v.geometry, Beam{
		Photons: v.photons, GaussSD: 9, PSF: 1.5, Grain: 0.6, Scatter: 0.06, ScatterMM: 5,
	}, v.tone, j.attenuation)
	e := Exposure{ID: v.id, FileName: "demo-37-" + v.id + ".png", Stage: v.stage, Date: v.date, Image: img, Truth: truth}
	img.Source.Name, img.Source.Date = e.FileName, e.Date
	return e
}
