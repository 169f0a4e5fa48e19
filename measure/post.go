package measure

import "fmt"

const (
	postMethod      = "length of the smooth line through the marks of the post"
	postRootMethod  = "length of the post below the crown margin / length of the root from the margin to the apex"
	postCrownMethod = "length of the post below the crown margin / height of the crown from its top to the margin"
	sealMethod      = "distance from the tip of the post to the tip of the root filling"
)

// What is left of the apical filling below a post, in mm: 4 at least, 5
// advised (post literature, second hand; sources differ: 3–5).
const (
	LeastApicalSeal   = 4.0
	AdvisedApicalSeal = 5.0
)

// post adds the findings of a post.
func (w *work) post(pic *picture, im ImageMarks, p Post) {
	g := w.group(pic.id, p.Marks)
	s := subject{w: w, image: pic.id, of: PostSubject(p), cautions: pic.scale.cautionsFor(direction(g.p), p.Tooth), made: made{p.By}}
	if openCurve(g.p) == nil || !finite(g.p) {
		s.none(WhatPostLength, pic.scale.lengthUnit(), postMethod, "needs two marks in different places")
		return
	}
	s.add(WhatPostLength, pic.scale.length(w.traceLength(g, track{})), postMethod)
	tip := p.Marks[len(p.Marks)-1]
	w.postRatio(s, pic.id, WhatPostToRoot, postRootMethod, p.Margin, tip, p.Apex)
	w.postRatio(s, pic.id, WhatPostToCrown, postCrownMethod, p.Margin, tip, p.Top)
	for _, f := range im.Fillings {
		if f.Tooth == p.Tooth && f.Canal == p.Canal {
			s.made = made{p.By, f.By}
			w.seal(s, pic, tip, f.Tip)
		}
	}
}

// postRatio adds the length of the post below the margin over the distance
// from the margin to another mark, where both are marked.
func (w *work) postRatio(s subject, image, what, method string, margin *Point, tip Point, other *Point) {
	if margin == nil || other == nil {
		return
	}
	ratio := propagate1(w.group(image, []Point{*margin, tip, *other}), func(p []vec) float64 {
		return p[0].dist(p[1]) / p[0].dist(p[2])
	})
	s.cautions = nil
	s.add(what, ratio.quantity(One), method)
}

func (w *work) seal(s subject, pic *picture, post, filling Point) {
	d := propagate1(w.group(pic.id, []Point{post, filling}), func(p []vec) float64 { return p[0].dist(p[1]) })
	q := pic.scale.length(d.estimate)
	var caution []string
	if q.Unit == Millimetre && q.Value < LeastApicalSeal {
		caution = append(caution, fmt.Sprintf("less than %g mm of root filling left below the post", LeastApicalSeal))
	}
	s.add(WhatApicalSeal, q, sealMethod, caution...)
}
