package measure

import "strings"

// Compute returns all findings of the marks: image by image, scale first,
// then canals, lesions, fillings and obstructions in the order of the marks,
// then what compares images. It never fails: what can't be computed is a
// finding without a value whose caution says why. The same input gives the
// same output.
func Compute(m Marks, g Given) []Finding { return compute(m, g).findings }

func compute(m Marks, g Given) *work {
	w := &work{marks: m, given: g, images: map[string]*picture{}, mirrored: map[string]string{}}
	for _, im := range m.Images {
		w.image(im)
	}
	for _, v := range m.Views {
		w.view(v)
	}
	for _, r := range m.Recalls {
		w.recall(r)
	}
	return w
}

// work is one run of Compute: it hands out sources of error and collects the
// findings.
type work struct {
	marks    Marks
	given    Given
	images   map[string]*picture
	next     source
	findings []Finding
	mirrored map[string]string // the caution by Finding.Image
	seen     []seen            // what recalls compared
}

// picture is an image with its scale, as the findings on it need it.
type picture struct {
	id     string
	scale  scale
	canals []*line // those that have a line
}

// source returns a new source of error.
func (w *work) source() source {
	w.next++
	return w.next - 1
}

// group takes marks of an image in as inputs with sources of their own. Where
// the pixels of the image are not square, x is stretched to the size of rows.
func (w *work) group(image string, marks []Point) group {
	g := group{p: vecs(marks), u: make([]float64, len(marks)), first: w.next, dims: 2}
	stretch := w.stretch(image)
	for i, m := range marks {
		g.p[i].x *= stretch
		g.u[i] = w.click(m)
	}
	w.next += source(g.sources())
	return g
}

// outlineGroup is group for the marks of an outline, without those that repeat
// a neighbour.
func (w *work) outlineGroup(image string, marks []Point) group {
	g := w.group(image, outlineMarks(marks))
	g.closed = true
	return g
}

// click is the standard uncertainty of a mark in px: its own, or that of the
// reader, or the default.
func (w *work) click(m Point) float64 {
	if u := w.marks.ClickPX; m.U == 0 && u != nil && *u > 0 {
		return *u
	}
	return m.StdUnc()
}

// stretch is the width of a pixel of the image over its height.
func (w *work) stretch(image string) float64 {
	if s := w.given.Spacing[image]; s.Stated() && s.ColMM != s.RowMM {
		return s.ColMM / s.RowMM
	}
	return 1
}

const mirroredCaution = "image flagged as mirrored: left and right are exchanged"

// noteMirrored takes in whether an image is flagged as mirrored.
func (w *work) noteMirrored(im ImageMarks) {
	if im.Mirrored {
		w.mirrored[im.ID] = mirroredCaution
	}
}

// compared names two images as one Finding.Image, which is as mirrored as
// they are.
func (w *work) comparedImages(a, b string) string {
	name := a + ", " + b
	for _, id := range []string{a, b} {
		if w.mirrored[id] != "" {
			w.mirrored[name] = id + ": " + mirroredCaution
		}
	}
	return name
}

// image computes the findings on one image.
func (w *work) image(im ImageMarks) {
	w.noteMirrored(im)
	pic := &picture{id: im.ID}
	pic.scale = w.scale(im)
	w.images[im.ID] = pic
	for _, c := range im.Canals {
		w.canal(pic, c)
	}
	w.relations(pic)
	for _, l := range im.Lesions {
		w.lesion(pic, l)
	}
	for _, f := range im.Fillings {
		w.filling(pic, f)
	}
	for _, o := range im.Obstructions {
		w.obstruction(pic, o)
	}
	for _, p := range im.Posts {
		w.post(pic, im, p)
	}
}

// add appends a finding. One without a value must say why in its cautions.
func (w *work) add(image, of, what string, q Quantity, method string, cautions ...string) {
	if !q.Defined() && len(cautions) == 0 {
		cautions = []string{"the marks do not determine it"}
	}
	if c := w.mirrored[image]; c != "" {
		cautions = append(cautions, c)
	}
	w.findings = append(w.findings, Finding{Image: image, Of: of, What: what, Quantity: q, Method: method, Cautions: cautions})
}

// ImageSubject is Finding.Of of what is about an image as a whole.
const ImageSubject = "image"

// CanalSubject returns Finding.Of for a canal: "canal 46 ML".
func CanalSubject(c Canal) string { return of("canal", c.Tooth, c.Name) }

// LesionSubject returns Finding.Of for a lesion: "lesion 46 D".
func LesionSubject(l Lesion) string { return of("lesion", l.Tooth, l.Name) }

// FillingSubject returns Finding.Of for a root filling: "filling 46 D".
func FillingSubject(f Filling) string { return of("filling", f.Tooth, f.Canal) }

// ObstructionSubject returns Finding.Of for an obstruction: "instrument 46 ML".
func ObstructionSubject(o Obstruction) string { return of(o.Kind, o.Tooth, o.Canal) }

// PostSubject returns Finding.Of for a post: "post 46 D".
func PostSubject(p Post) string { return of("post", p.Tooth, p.Canal) }

// of joins the parts of a subject that are not empty.
func of(parts ...string) string { return strings.Join(strings.Fields(strings.Join(parts, " ")), " ") }

// A subject is what findings are about on one image; its methods add them.
type subject struct {
	w        *work
	image    string
	of       string
	cautions []string // of every finding of the subject
	made     made     // its marks
}

func (s subject) add(what string, q Quantity, method string, cautions ...string) {
	all := append(append([]string{}, s.cautions...), cautions...)
	s.w.add(s.image, s.of, what, q, method+s.made.clause(), all...)
}

// none adds a finding without a value.
func (s subject) none(what string, u Unit, method, why string) {
	s.w.add(s.image, s.of, what, Undefined(u), method+s.made.clause(), why)
}
