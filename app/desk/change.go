package desk

import (
	"reflect"

	"rootrule/measure"
)

// changes are the findings about the images of a pair, and what they were
// computed from.
type changes struct {
	of       [2]string // the images, in order of treatment
	from     measure.Marks
	findings []measure.Finding
	trends   []measure.Trend // of the whole case
	own      []measure.Trend // of this pair alone: values before and after
}

// compute asks for the findings of the pair where its marks have changed. While
// a gesture is under way, the findings before it stand: both images take too
// long for each move of the mouse.
func (p *pair) compute() {
	s := p.desk.session
	if p.picture == nil || !s.ready || s.draft != nil {
		return
	}
	m := s.marks
	if reflect.DeepEqual(m, p.changes.from) || imageIn(&m, p.changes.of[0]) == nil || imageIn(&m, p.changes.of[1]) == nil {
		return
	}
	before, after := p.changes.of[0], p.changes.of[1]
	own := measure.Marks{Version: m.Version, ClickPX: m.ClickPX, Images: []measure.ImageMarks{*imageIn(&m, before), *imageIn(&m, after)}}
	for _, r := range m.Recalls {
		if r.Before == before && r.After == after {
			own.Recalls = append(own.Recalls, r)
		}
	}
	for _, v := range m.Views {
		if p.isOf(v) {
			own.Views = append(own.Views, v)
		}
	}
	p.changes = changes{of: p.changes.of, from: m, findings: s.reader.Findings(own), own: s.reader.Trends(own), trends: s.reader.Trends(m)}
}

// finding returns the finding of a kind of a subject on an image of the pair,
// or, with the image empty, of what compares both.
func (p *pair) finding(image, of, what string) (measure.Finding, bool) {
	for _, f := range p.changes.findings {
		if f.Of != of || f.What != what {
			continue
		}
		single := f.Image == p.other || f.Image == p.desk.session.image
		if f.Image == image || image == "" && !single {
			return f, true
		}
	}
	return measure.Finding{Quantity: measure.Undefined(measure.Pixel)}, false
}
