package desk

import (
	"image"
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"rootrule/imaging/tone"
	"rootrule/measure"
)

// drawn is a copy of the frame that the bench shows now.
func (r *rig) drawn() []uint8 {
	w, h := r.bench.area()
	return append([]uint8(nil), r.bench.draw(int(w), int(h)).(*image.RGBA).Pix...)
}

// TestViewToolsChangeTheViewAlone: each tool changes what is seen, is named in
// the badge, and leaves every finding and mark as it was.
func TestViewToolsChangeTheViewAlone(t *testing.T) {
	r := opened(t)
	r.calibrated()
	r.traced()
	r.key(fyne.KeyEscape)
	before := r.State()
	for _, c := range []struct {
		part, badge string
	}{{"local contrast", "local contrast"}, {"sharpen", "sharpened"}, {"invert", "inverted"}, {"ruler", "squares of"}} {
		was := string(r.drawn())
		r.tap(c.part)
		if string(r.drawn()) == was {
			t.Errorf("%s changes nothing that is seen", c.part)
		}
		if !strings.Contains(r.bench.badgeText(), c.badge) {
			t.Errorf("with %s the badge says %q", c.part, r.bench.badgeText())
		}
		for name, v := range before.Findings {
			if got := r.State().Findings[name]; got != v {
				t.Errorf("%s changes %s from %s to %s", c.part, name, v, got)
			}
		}
		r.tap(c.part)
		if r.bench.badgeText() != "" || string(r.drawn()) != was {
			t.Errorf("%s twice isn't as before: %q", c.part, r.bench.badgeText())
		}
	}
}

func TestWindowsByPurpose(t *testing.T) {
	r := opened(t)
	start := r.bench.window
	seen := map[tone.Window]bool{}
	for range tone.Purposes {
		r.key(fyne.Key3)
		seen[r.bench.window] = true
		if p, ok := r.eye.purpose(); !ok || r.viewBar.purpose.Selected != purposeName(p) {
			t.Errorf("with window %+v the bar says %q", r.bench.window, r.viewBar.purpose.Selected)
		}
	}
	if len(seen) < 4 || r.bench.window != start {
		t.Errorf("%d windows, the last is %+v", len(seen), r.bench.window)
	}
	r.eye.choose(tone.Bone)
	if !strings.Contains(r.bench.badgeText(), "Bone") {
		t.Errorf("the badge says %q", r.bench.badgeText())
	}
	r.key(fyne.KeyI)
	if w := r.bench.window; !w.Invert {
		t.Error("the window for bone can't be inverted")
	}
	r.eye.choose(tone.Canal)
	if !r.bench.window.Invert {
		t.Error("another purpose forgets that the view is inverted")
	}
}

// TestEnhancementFollowsTheImage: it stays on when another image comes onto
// the bench, and when the window changes; pictures made before are kept.
func TestEnhancementFollowsTheImage(t *testing.T) {
	r := opened(t)
	r.key(fyne.Key4)
	first := r.eye.picture(r.bench.picture)
	if first == r.bench.picture {
		t.Fatal("nothing is enhanced")
	}
	r.takeIn([]string{"/x/two.png"})
	second := r.eye.picture(r.bench.picture)
	if second == first || second == r.bench.picture {
		t.Error("the second image isn't enhanced")
	}
	r.key(fyne.Key4)
	if r.eye.picture(r.bench.picture) != r.bench.picture {
		t.Error("the enhancement can't be turned off")
	}
	r.key(fyne.Key4)
	if r.eye.picture(r.bench.picture) != second {
		t.Error("the same picture is made twice")
	}
	r.key(fyne.Key3)
	if r.eye.picture(r.bench.picture) == second {
		t.Error("another window has the same local contrast")
	}
}

// TestRulerSquares: 20 mm along 400 px make a scale of 0.05 mm/px: squares of
// 5 mm have 100 px.
func TestRulerSquares(t *testing.T) {
	r := opened(t)
	r.tap("ruler")
	if x, y, name := r.bench.squares(); x != y || !strings.Contains(name, "px, not calibrated") {
		t.Errorf("without a calibration the squares are %g × %g: %q", x, y, name)
	}
	r.calibrated()
	x, y, name := r.bench.squares()
	f, _ := r.session.scale()
	if mm := x * f.Value; x != y || math.Abs(mm-math.Round(mm)) > 1e-9 || !strings.Contains(name, plain(math.Round(mm))+" mm") {
		t.Errorf("the squares are %g × %g px, %g mm: %q", x, y, mm, name)
	}
}

func TestProfileAlongALine(t *testing.T) {
	r := opened(t)
	r.calibrated()
	r.tap("profile")
	if !r.profile.on || !r.profile.plot.Visible() || len(r.profile.values) < 10 {
		t.Fatalf("the profile has %d values", len(r.profile.values))
	}
	marks := len(r.session.saved().Canals)
	r.pull(200, 300, 600, 600, desktop.MouseButtonPrimary)
	if p := r.profile; p.from.Dist(measure.Pt(200, 300)) > 2 || p.to.Dist(measure.Pt(600, 600)) > 2 {
		t.Errorf("the line runs from %v to %v", p.from, p.to)
	}
	if got := r.profile.length(); got.Unit != measure.Millimetre || !near2(got.Value, 25, 0.2) || !(got.StdUnc > 0) {
		t.Errorf("500 px at 0.05 mm/px are %+v", got)
	}
	m, err := r.session.reader.Image(r.session.image, "")
	if err != nil {
		t.Fatal(err)
	}
	if at := r.profile.from; math.Abs(r.profile.values[0]-m.At(int(math.Round(at.X)), int(math.Round(at.Y)))) > 20000 || r.profile.values[0] == 0 {
		t.Errorf("the first value is %g", r.profile.values[0])
	}
	end := r.profile.to
	r.key(fyne.KeyRight)
	if r.profile.to.X <= end.X || r.profile.to.Y != end.Y {
		t.Errorf("an arrow key moves the end from %v to %v", end, r.profile.to)
	}
	if img := r.profile.plot.draw(600, 150).(*image.RGBA); !img.Opaque() || !hasColour(img, colourHoney.R, colourHoney.G, colourHoney.B) {
		t.Errorf("the plot has no curve, or isn't seen: opaque %v", img.Opaque())
	}
	r.key(fyne.KeyEscape)
	if r.profile.on || r.profile.plot.Visible() || len(r.session.saved().Canals) != marks {
		t.Error("Escape doesn't leave the profile as it found the image")
	}
}

func hasColour(img *image.RGBA, red, green, blue uint8) bool {
	for i := 0; i < len(img.Pix); i += 4 {
		if img.Pix[i] == red && img.Pix[i+1] == green && img.Pix[i+2] == blue {
			return true
		}
	}
	return false
}

func TestZoomSteps(t *testing.T) {
	r := opened(t)
	for key, want := range map[fyne.KeyName]float64{fyne.Key1: 1, fyne.Key2: 2} {
		r.key(key)
		if r.bench.view.Scale != want || r.viewBar.zoom.Text != plain(100*want)+" %" {
			t.Errorf("key %s shows at %g: %q", key, r.bench.view.Scale, r.viewBar.zoom.Text)
		}
	}
}

// TestPanelGivesItsRoom: hidden, the worksheet's room is the bench's.
func TestPanelGivesItsRoom(t *testing.T) {
	r := opened(t)
	before := r.bench.Size().Width
	r.key(fyne.KeyF2)
	if got := r.bench.Size().Width; got < before+300 {
		t.Errorf("without the worksheet the bench has %g of %g", got, before)
	}
	r.key(fyne.KeyF2)
	r.sheet.widen(60)
	if got := r.bench.Size().Width; math.Abs(float64(got-(before-60))) > 1 {
		t.Errorf("60 wider, the worksheet leaves %g of %g", got, before)
	}
	test.DoubleTap(&divider{sheet: r.sheet})
	if r.sheet.width != 0 {
		t.Error("a double click doesn't go back to the usual width")
	}
}
