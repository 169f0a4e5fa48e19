package outline

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
)

// WriteSTL writes the surface as a binary STL file, in mm. place takes a point
// of the surface to where it is wanted, such as the patient's coordinates; nil
// leaves it.
func (s Surface) WriteSTL(w io.Writer, place func([3]float64) [3]float64) error {
	points := make([]vec3, len(s.Points))
	for i, p := range s.Points {
		if place != nil {
			p = place(p)
		}
		points[i] = p
	}
	out := bufio.NewWriter(w)
	var head [80]byte
	copy(head[:], "surface of a lesion, mm")
	out.Write(head[:])
	data := binary.LittleEndian
	out.Write(data.AppendUint32(nil, uint32(len(s.Faces))))
	turned := s.turned(points)
	for _, f := range s.Faces {
		if turned {
			f[1], f[2] = f[2], f[1]
		}
		writeFacet(out, points[f[0]], points[f[1]], points[f[2]])
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("write the surface: %w", err)
	}
	return nil
}

// turned reports whether the points were mirrored on their way, so that the
// faces' backs would be out: the volume they enclose is then negative.
func (s Surface) turned(p []vec3) bool {
	sum := 0.0
	for _, f := range s.Faces {
		a, b, c := p[f[0]].sub(p[0]), p[f[1]].sub(p[0]), p[f[2]].sub(p[0])
		sum += a.dot(b.cross(c))
	}
	return sum < 0
}

func writeFacet(out *bufio.Writer, a, b, c vec3) {
	n := b.sub(a).cross(c.sub(a))
	if l := n.norm(); l > 0 {
		n = n.mul(1 / l)
	}
	for _, v := range [4]vec3{n, a, b, c} {
		_ = binary.Write(out, binary.LittleEndian, [3]float32{float32(v[0]), float32(v[1]), float32(v[2])}) // its error stays with the writer
	}
	_, _ = out.Write([]byte{0, 0})
}
