package outline

import (
	"math"
	"strings"
	"testing"

	"rootrule/measure"
)

// TestCautions paints what each caution is about, and none where nothing is.
func TestCautions(t *testing.T) {
	plain := survey{w: 300, h: 300, pixel: 0.04, form: superellipse(vec{150, 150}, 55, 45, 0, 2), edge: 3, depth: 0.7, texture: 0.02, noise: 0.02}
	for _, c := range []struct {
		name   string
		change func(s *survey)
		want   string // "" for no caution at all
	}{
		{"nothing", func(*survey) {}, ""},
		{"a root over the top", func(s *survey) { s.tip, s.up, s.thick = vec{150, 140}, vec{0, -1}, 20 }, "a root or something as dense"},
		{"close to the border on the left", func(s *survey) { s.form.centre.x = 60 }, "on the left, lies at the border"},
		{"weak on the right", func(s *survey) { s.gap = true }, "of the edge is weak, on the right"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := plain
			c.change(&s)
			m := s.paint(9)
			o, err := Lesion(m, measure.Pt(s.form.centre.x+5, s.form.centre.y+12), Options{})
			if err != nil {
				t.Fatal(err)
			}
			all := strings.Join(o.Cautions, "; ")
			if (c.want == "" && all != "") || !strings.Contains(all, c.want) {
				t.Errorf("cautions %q, want %q", all, c.want)
			}
			if d := dice(drawn(o), s.form.line(720)); d < 0.95 {
				t.Errorf("Dice %.3f", d)
			}
			if math.IsNaN(o.AreaStdUnc) {
				t.Error("no uncertainty")
			}
		})
	}
}
