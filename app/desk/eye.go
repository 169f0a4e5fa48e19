package desk

import (
	"fyne.io/fyne/v2"

	"rootrule/app/wording"
	"rootrule/imaging"
	"rootrule/imaging/tone"
)

// eye is what is done to the picture on the bench for the eye alone: windows
// by purpose and enhancements. They are computed beside the main goroutine;
// until then the picture is shown as it is. No measurement knows of them.
type eye struct {
	desk     *Desk
	want     tone.Enhancement
	windows  []tone.Window // by purpose, of the picture on the bench; nil until known
	of       *tone.Picture // that the windows and what follows belong to
	made     enhanced
	making   *enhanced // being made, nil for none
	keeping  []enhanced
	resettle bool // the window has changed while it was being made
}

// enhanced is a picture made from another.
type enhanced struct {
	from   *tone.Picture
	window tone.Window
	by     tone.Enhancement
	got    *tone.Picture
}

// kept is how many enhanced pictures are kept for going back and forth: each
// takes 8 MB at 3 million pixels.
const kept = 4

// purposeName is a purpose of a window as shown.
func purposeName(p tone.Purpose) string {
	switch p {
	case tone.FullRange:
		return wording.Say("Full range")
	case tone.Bone:
		return wording.Say("Bone")
	case tone.Canal:
		return wording.Say("Canal")
	case tone.EnamelAndMetal:
		return wording.Say("Enamel and metal")
	}
	return wording.Say("As opened")
}

// picture returns what the bench shows of its picture: enhanced, once that is
// made.
func (e *eye) picture(p *tone.Picture) *tone.Picture {
	if e.made.got != nil && e.made.from == p && e.made.by == e.want {
		return e.made.got
	}
	return p
}

// arrived finds the windows of a new picture.
func (e *eye) arrived(p *tone.Picture, m *imaging.Image) {
	e.of, e.windows = p, nil
	e.follow()
	e.desk.beside(func() {
		windows := tone.For(m)
		fyne.Do(func() {
			if e.of == p {
				e.windows = windows
				e.desk.refresh()
			}
		})
	})
}

// choose shows the window of a purpose.
func (e *eye) choose(p tone.Purpose) {
	if int(p) < len(e.windows) && e.desk.bench.picture == e.of {
		invert := e.desk.bench.window.Invert
		w := e.windows[p]
		w.Invert = invert
		e.desk.setTone(w)
	}
}

// purpose returns the purpose whose window is shown, and whether there is one.
func (e *eye) purpose() (tone.Purpose, bool) {
	now := e.desk.bench.window
	for i, w := range e.windows {
		if w.Low == now.Low && w.High == now.High && e.of == e.desk.bench.picture {
			return tone.Purposes[i], true
		}
	}
	return tone.AsOpened, false
}

// next shows the window of the next purpose.
func (e *eye) next() {
	p, ok := e.purpose()
	if !ok {
		p = tone.Purpose(len(tone.Purposes) - 1)
	}
	e.choose(tone.Purposes[(int(p)+1)%len(tone.Purposes)])
}

// toggle turns an enhancement on or off.
func (e *eye) toggle(which func(*tone.Enhancement) *bool) {
	on := which(&e.want)
	*on = !*on
	e.follow()
	e.desk.refresh()
}

func localContrast(e *tone.Enhancement) *bool { return &e.Local }
func sharpening(e *tone.Enhancement) *bool    { return &e.Sharp }

// follow has the picture made that is wanted now, if it is not at hand.
func (e *eye) follow() {
	b := e.desk.bench
	if b.picture == nil || e.want == (tone.Enhancement{}) {
		return
	}
	w := b.window
	w.Invert = false // it changes the table alone
	want := enhanced{from: b.picture, window: w, by: e.want}
	for _, k := range e.keeping {
		if k.from == want.from && k.by == want.by && (k.window == w || !want.by.Local) {
			e.made = k
			b.raster.Refresh()
			return
		}
	}
	if e.making != nil {
		e.resettle = true
		return
	}
	e.making = &want
	e.desk.beside(func() {
		want.got = want.from.Enhanced(want.window, want.by)
		fyne.Do(func() { e.have(want) })
	})
}

// have takes a picture in that was made.
func (e *eye) have(made enhanced) {
	e.making = nil
	e.keeping = append(e.keeping, made)
	if len(e.keeping) > kept {
		e.keeping = append([]enhanced(nil), e.keeping[1:]...)
	}
	e.made = made
	e.desk.bench.raster.Refresh()
	if e.resettle {
		e.resettle = false
		e.follow()
	}
	e.desk.prober.changed()
}

// words say what is done to the picture for the eye, for the badge; empty when
// it is shown as it was opened.
func (e *eye) words() []string {
	var out []string
	b := e.desk.bench
	start := b.window
	if len(e.windows) > 0 && e.of == b.picture {
		start = e.windows[tone.AsOpened]
	}
	if b.window.Invert != start.Invert {
		out = append(out, wording.Say("inverted"))
	}
	if p, ok := e.purpose(); ok && p != tone.AsOpened && len(e.windows) > 0 {
		out = append(out, wording.Say("window: %s", purposeName(p)))
	}
	out = append(out, e.enhancements()...)
	if w := turnWords(e.desk.session.saved()); w != "" {
		out = append(out, w)
	}
	return out
}

// enhancements says what is done beyond windows. Beside a second image it says
// on which of the two; a difference is computed from the stored values, so none
// of it is seen there.
func (e *eye) enhancements() (out []string) {
	p := e.desk.pair
	if p != nil && p.how == difference && p.joining.diff != nil {
		return nil
	}
	say := func(alone, ofTwo string) {
		if p != nil && p.picture != nil {
			alone = wording.Say(ofTwo, e.desk.session.nameOfImage(e.desk.session.image))
		}
		out = append(out, alone)
	}
	if e.want.Local {
		say(wording.Say("local contrast"), wording.ToSay("local contrast of %s alone"))
	}
	if e.want.Sharp {
		say(wording.Say("sharpened"), wording.ToSay("%s alone sharpened"))
	}
	return out
}
