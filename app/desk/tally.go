package desk

import (
	"reflect"

	"fyne.io/fyne/v2"

	"rootrule/measure"
)

// tally keeps the findings of every image of a case for the worksheet. They
// are computed beside the main goroutine, and again only for an image whose
// marks have changed.
type tally struct {
	desk  *Desk
	of    *session
	steps int // of the session, when the marks were looked at last
	got   map[string]*counted
}

// counted is one image: the marks that were asked about, and what was found.
// Until then the findings are those of the marks before.
type counted struct {
	marks    measure.ImageMarks
	findings []measure.Finding
	done     bool
}

// follow asks for the findings of what has changed.
func (t *tally) follow(s *session) {
	if s != t.of {
		t.of, t.steps, t.got = s, -1, map[string]*counted{}
	}
	if s == nil || s.steps == t.steps || t.desk.pending != nil {
		return
	}
	t.steps = s.steps
	var todo []string
	for _, im := range s.marks.Images {
		was := t.got[im.ID]
		if was != nil && reflect.DeepEqual(was.marks, im) {
			continue
		}
		now := &counted{marks: im}
		if was != nil {
			now.findings = was.findings
		}
		t.got[im.ID] = now
		todo = append(todo, im.ID)
	}
	t.count(s, todo)
}

// count computes the findings of some images, one after another.
func (t *tally) count(s *session, todo []string) {
	if len(todo) == 0 {
		return
	}
	work := make([]*counted, len(todo))
	for i, id := range todo {
		work[i] = t.got[id]
	}
	t.desk.beside(func() {
		for i, c := range work {
			found := s.reader.Findings(s.only(c.marks))
			last := i == len(work)-1
			fyne.Do(func() { t.counted(s, todo[i], c, found, last) })
		}
	})
}

// counted takes the findings of an image in, unless they have been overtaken.
func (t *tally) counted(s *session, id string, c *counted, found []measure.Finding, last bool) {
	if t.of == s && t.got[id] == c {
		c.findings, c.done = found, true
	}
	if t.of == s && last {
		t.desk.sheet.update()
		t.desk.prober.changed()
	}
}

// on returns the findings of an image: of the one on the bench as it is shown,
// drafts included, of others as they are saved. known reports whether they are
// those of its marks.
func (t *tally) on(image string) (findings []measure.Finding, known bool) {
	if t.of != nil && image == t.of.image && t.of.ready {
		return t.of.findings, true
	}
	if c := t.got[image]; c != nil {
		return c.findings, c.done
	}
	return nil, false
}

// finding returns a finding on an image, and whether there is one.
func (t *tally) finding(image, of, what string) (measure.Finding, bool) {
	findings, _ := t.on(image)
	return findingIn(findings, of, what)
}

// findingIn picks the finding of a kind of an item; without one it is
// undefined.
func findingIn(findings []measure.Finding, of, what string) (measure.Finding, bool) {
	for _, f := range findings {
		if f.Of == of && f.What == what {
			return f, true
		}
	}
	return measure.Finding{Quantity: measure.Undefined(measure.Pixel)}, false
}
