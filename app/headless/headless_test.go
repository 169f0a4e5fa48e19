package headless

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"rootrule/imaging"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"rootrule": func() { os.Exit(Run(os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

// TestScripts runs testdata/script/*.txtar; each script has the samples of
// imaging/testdata in its folder.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		Setup: func(env *testscript.Env) error {
			return os.CopyFS(filepath.Join(env.WorkDir, "samples"), os.DirFS("../../imaging/testdata"))
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"number":     checkNumber,
			"samepixels": checkPixels,
			"slice":      writeSlice,
			"canal":      writeCanal,
			"lesion":     writeLesion,
			"surface":    checkSurface,
		},
	})
}

// checkNumber checks the number behind the first match of a pattern in the
// last output: number PATTERN WANT TOLERANCE.
func checkNumber(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: number PATTERN WANT TOLERANCE")
	}
	re, err := regexp.Compile(args[0] + `(-?[0-9.eE+-]+)`)
	ts.Check(err)
	match := re.FindStringSubmatch(ts.ReadFile("stdout"))
	if match == nil {
		ts.Fatalf("%q is not in the output", args[0])
	}
	got := parseNumber(ts, match[1])
	want, tol := parseNumber(ts, args[1]), parseNumber(ts, args[2])
	if !(got >= want-tol && got <= want+tol) {
		ts.Fatalf("%s %v, want %v ± %v", args[0], got, want, tol)
	}
}

func parseNumber(ts *testscript.TestScript, s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	ts.Check(err)
	return v
}

// checkPixels checks that a 16-bit PNG holds what the image reader gives:
// samepixels OUT.png IMAGE.
func checkPixels(ts *testscript.TestScript, neg bool, args []string) {
	data, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	got, err := png.Decode(bytes.NewReader(data))
	ts.Check(err)
	want, err := imaging.Open(ts.MkAbs(args[1]))
	ts.Check(err)
	if got.Bounds().Dx() != want.Width || got.Bounds().Dy() != want.Height {
		ts.Fatalf("size %v, want %d×%d", got.Bounds(), want.Width, want.Height)
	}
	for i, v := range want.Pix {
		if r, _, _, _ := got.At(i%want.Width, i/want.Width).RGBA(); uint16(r) != v {
			ts.Fatalf("pixel %d is %d, want %d", i, r, v)
		}
	}
}

// writeSlice writes a slice of 4×3 signed pixels: slice FILE POSITION_MM.
func writeSlice(ts *testscript.TestScript, neg bool, args []string) {
	pix := ""
	for i := range 12 {
		pix += short(uint16(int16(100*i - 500)))
	}
	ts.Check(os.MkdirAll(filepath.Dir(ts.MkAbs(args[0])), 0o755))
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), ctSlice(4, 3, `0\0\`+args[1], `0.2\0.25`, pix), 0o644))
}

// writeCanal writes a series of 44 slices of 30×30 pixels, 0.3 mm apart in each
// direction, with a dark straight canal of 0.45 mm radius in dentine, from
// (−8, 7.5, −19) to (−3, 11.5, −9) mm: canal FOLDER.
func writeCanal(ts *testscript.TestScript, neg bool, args []string) {
	const n, slices, step = 30, 44, 0.3
	first, from, d := [3]float64{-10, 5, -20.5}, [3]float64{-8, 7.5, -19}, [3]float64{5, 4, 10}
	ts.Check(os.MkdirAll(ts.MkAbs(args[0]), 0o755))
	for k := range slices {
		pix := ""
		for i := range n * n {
			p := [3]float64{first[0] + step*float64(i%n), first[1] + step*float64(i/n), first[2] + step*float64(k)}
			along, square, length := 0.0, 0.0, 0.0
			for a := range 3 {
				along += (p[a] - from[a]) * d[a]
				square += (p[a] - from[a]) * (p[a] - from[a])
				length += d[a] * d[a]
			}
			away := math.Sqrt(max(square-along*along/length, 0))
			pix += short(uint16(int16(1700 - 1500/(1+math.Exp((away-0.45)/0.08)))))
		}
		position := fmt.Sprintf(`%g\%g\%.1f`, first[0], first[1], first[2]+step*float64(k))
		ts.Check(os.WriteFile(filepath.Join(ts.MkAbs(args[0]), fmt.Sprintf("%02d.dcm", k)), ctSlice(n, n, position, `0.3\0.3`, pix), 0o644))
	}
}

// ctSlice is an uncompressed CT slice of signed pixels, explicit VR little
// endian (PS3.5, 7.1.2).
func ctSlice(columns, rows uint16, position, spacing, pix string) []byte {
	var b bytes.Buffer
	b.Write(make([]byte, 128))
	b.WriteString("DICM")
	element(&b, 2, 0x10, "UI", "1.2.840.10008.1.2.1")
	element(&b, 8, 0x16, "UI", "1.2.840.10008.5.1.4.1.1.2") // CT Image Storage
	element(&b, 8, 0x60, "CS", "CT")
	element(&b, 0x10, 0x10, "PN", "Nobody^Known")
	element(&b, 0x20, 0x0e, "UI", "1.2.3.4")
	element(&b, 0x20, 0x32, "DS", position)
	element(&b, 0x20, 0x37, "DS", `1\0\0\0\1\0`)
	element(&b, 0x28, 2, "US", short(1))
	element(&b, 0x28, 4, "CS", "MONOCHROME2")
	element(&b, 0x28, 0x10, "US", short(rows))
	element(&b, 0x28, 0x11, "US", short(columns))
	element(&b, 0x28, 0x30, "DS", spacing)
	element(&b, 0x28, 0x100, "US", short(16))
	element(&b, 0x28, 0x101, "US", short(16))
	element(&b, 0x28, 0x102, "US", short(15))
	element(&b, 0x28, 0x103, "US", short(1))
	element(&b, 0x7fe0, 0x10, "OW", pix)
	return b.Bytes()
}

func short(v uint16) string { return string(binary.LittleEndian.AppendUint16(nil, v)) }

func element(b *bytes.Buffer, group, elem uint16, vr, value string) {
	if len(value)%2 == 1 {
		value += map[string]string{"UI": "\x00"}[vr]
		value = fmt.Sprintf("%-*s", len(value)+len(value)%2, value)
	}
	b.WriteString(short(group) + short(elem) + vr)
	if vr == "OW" {
		b.WriteString("\x00\x00")
		b.Write(binary.LittleEndian.AppendUint32(nil, uint32(len(value))))
	} else {
		b.WriteString(short(uint16(len(value))))
	}
	b.WriteString(value)
}
