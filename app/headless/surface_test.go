package headless

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"

	"github.com/rogpeppe/go-internal/testscript"
)

// writeLesion writes a CT series with a lesion whose edge is half as deep as
// its middle on the ellipsoid of semi-axes 2.6, 2.1 and 1.8 mm about (5, −4, 16)
// mm: lesion FOLDER. Slices 0.25 mm apart, pixels of 0.2 mm, the first of which
// lies at (−1, −10, 10) mm; noise of a tenth of the contrast.
func writeLesion(ts *testscript.TestScript, neg bool, args []string) {
	const columns, rows, slices = 60, 58, 48
	r := rand.New(rand.NewPCG(1, 2))
	ts.Check(os.MkdirAll(ts.MkAbs(args[0]), 0o755))
	for k := range slices {
		pix := ""
		z := 10 + 0.25*float64(k)
		for j := range rows {
			for i := range columns {
				x, y := -1+0.2*float64(i)-5, -10+0.2*float64(j)+4
				rho := math.Sqrt(x*x/(2.6*2.6)+y*y/(2.1*2.1)+(z-16)*(z-16)/(1.8*1.8)) + 1e-9
				out := math.Sqrt(x*x+y*y+(z-16)*(z-16)) * (1 - 1/rho)
				v := 900 - 700/(1+math.Exp(out/0.12)) + 70*r.NormFloat64()
				pix += short(uint16(int16(math.Round(v))))
			}
		}
		ts.Check(os.WriteFile(filepath.Join(ts.MkAbs(args[0]), fmt.Sprintf("%02d.dcm", k)), ctSlice(columns, rows, fmt.Sprintf(`-1\-10\%g`, z), `0.2\0.2`, pix), 0o644))
	}
}

// checkSurface checks that a binary STL file is one closed surface, its faces
// outward, that encloses a volume about a centre: surface STL VOLUME_MM3
// TOLERANCE X Y Z.
func checkSurface(ts *testscript.TestScript, neg bool, args []string) {
	data, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	n := int(binary.LittleEndian.Uint32(data[80:]))
	if len(data) != 84+50*n {
		ts.Fatalf("%d bytes for %d facets", len(data), n)
	}
	type point [3]float32
	corners, edges := map[point]bool{}, map[[2]point]int{}
	volume, middle := 0.0, [3]float64{}
	for i := range n {
		var f [4]point
		_, err := binary.Decode(data[84+50*i:], binary.LittleEndian, &f)
		ts.Check(err)
		for k := range 3 {
			corners[f[k+1]] = true
			edges[[2]point{f[k+1], f[(k+1)%3+1]}]++
		}
		part := determinant(f[1], f[2], f[3]) / 6 // of the pyramid from the origin: divergence theorem
		volume += part
		for a := range 3 {
			middle[a] += part * float64(f[1][a]+f[2][a]+f[3][a]) / 4
		}
	}
	for e, count := range edges {
		if count != 1 || edges[[2]point{e[1], e[0]}] != 1 {
			ts.Fatalf("the edge %v belongs to %d faces one way, %d the other", e, count, edges[[2]point{e[1], e[0]}])
		}
	}
	if euler := len(corners) - len(edges)/2 + n; euler != 2 {
		ts.Fatalf("V − E + F = %d, want 2", euler)
	}
	if want := parseNumber(ts, args[1]); math.Abs(volume-want) > parseNumber(ts, args[2]) {
		ts.Fatalf("encloses %.4f mm³, want %.4f", volume, want)
	}
	for a, text := range args[3:6] {
		if want := parseNumber(ts, text); math.Abs(middle[a]/volume-want) > 0.05 {
			ts.Fatalf("the middle's coordinate %d is %.3f mm, want %.3f", a+1, middle[a]/volume, want)
		}
	}
}

func determinant(a, b, c [3]float32) float64 {
	x, y, z := [3]float64{float64(a[0]), float64(a[1]), float64(a[2])}, [3]float64{float64(b[0]), float64(b[1]), float64(b[2])}, [3]float64{float64(c[0]), float64(c[1]), float64(c[2])}
	return x[0]*(y[1]*z[2]-y[2]*z[1]) - x[1]*(y[0]*z[2]-y[2]*z[0]) + x[2]*(y[0]*z[1]-y[1]*z[0])
}
