package desk

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"slices"

	"fyne.io/fyne/v2"

	"rootrule/app/casebook"
	"rootrule/app/reading"
	"rootrule/imaging"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// gallery has the small pictures that the strip and the home show, by the
// SHA-256 of their originals. They are made once and kept in the casebook.
type gallery struct {
	desk  *Desk
	small map[string]image.Image // nil for one that is being looked for, or can't be had
}

func newGallery(d *Desk) *gallery { return &gallery{desk: d, small: map[string]image.Image{}} }

// got returns a small picture that is at hand, else nil.
func (g *gallery) got(sha string) image.Image { return g.small[sha] }

// wanted returns those that are neither at hand nor being looked for, and
// notes that they are now.
func (g *gallery) wanted(shas []string) (out []string) {
	for _, sha := range shas {
		if _, known := g.small[sha]; !known && sha != "" {
			g.small[sha] = nil
			out = append(out, sha)
		}
	}
	return out
}

// fetch brings the small pictures of cases from the casebook, beside the main
// goroutine, and calls arrived after those that were not at hand.
func (g *gallery) fetch(cases []casebook.Summary, arrived func()) {
	var shas []string
	for _, c := range cases {
		shas = append(shas, c.Picture)
	}
	wanted := g.wanted(shas)
	if len(wanted) == 0 {
		return
	}
	g.desk.beside(func() {
		found := map[string]image.Image{}
		for _, c := range cases {
			if slices.Contains(wanted, c.Picture) {
				found[c.Picture] = g.ofCase(c)
			}
		}
		fyne.Do(func() {
			for sha, img := range found {
				g.small[sha] = img // nil for one that can't be had: it is not asked for again
			}
			arrived()
		})
	})
}

// ofCase returns the small picture of a case, made now where there is none;
// nil where its image can't be read, which opening the case tells.
func (g *gallery) ofCase(c casebook.Summary) image.Image {
	book := g.desk.o.Book
	if img := stored(book, c.Picture); img != nil {
		return img
	}
	k, err := book.Case(c.ID)
	if err != nil {
		return nil
	}
	for _, im := range k.Marks().Images {
		if im.SHA256 == c.Picture {
			return made(book, reading.New(k), im)
		}
	}
	return nil
}

// made decodes an image for its small picture, and keeps that.
func made(book *casebook.Book, from *reading.Reader, im measure.ImageMarks) image.Image {
	m, err := from.Passing(im.ID, im.File)
	if err != nil {
		return nil
	}
	img := thumbnail(tone.NewPicture(m), tone.Start(m).Table())
	keep(book, im.SHA256, img)
	return img
}

// make takes the small pictures of a case's images from the casebook, or makes
// them, and calls arrived after each. It runs beside the main goroutine.
func (g *gallery) make(s *session, images []measure.ImageMarks, arrived func()) {
	for _, im := range images {
		img := stored(g.desk.o.Book, im.SHA256)
		if img == nil {
			img = made(g.desk.o.Book, s.reader, im)
		}
		fyne.Do(func() {
			g.small[im.SHA256] = img
			arrived()
		})
	}
}

// stored reads a small picture from the casebook; nil where there is none.
func stored(book *casebook.Book, sha string) image.Image {
	data, err := book.Thumb(sha)
	if err != nil {
		return nil
	}
	img, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		return nil
	}
	return img
}

// keep stores a small picture. That it fails is no harm: it is made again.
func keep(book *casebook.Book, sha string, img image.Image) {
	var b bytes.Buffer
	if jpeg.Encode(&b, img, &jpeg.Options{Quality: 88}) == nil {
		_ = book.SetThumb(sha, b.Bytes())
	}
}

// thumbnail draws a small picture, as the image is stored.
func thumbnail(p *tone.Picture, table *tone.Table) image.Image {
	const finer = 2 // device pixels in a logical one at the most
	w, h := float64((stripWidth-24)*finer), float64(thumbHeight*finer)
	scale := tone.Fit(p.Width, p.Height, w, h, 0).Scale
	dst := image.NewRGBA(image.Rect(0, 0, max(1, int(float64(p.Width)*scale)), max(1, int(float64(p.Height)*scale))))
	v := tone.Centre(p.Width, p.Height, float64(dst.Rect.Dx()), float64(dst.Rect.Dy()), scale)
	new(tone.Renderer).Draw(dst, p, v, table, color.RGBA(colourBench))
	grey := image.NewGray(dst.Rect)
	for i := range grey.Pix {
		grey.Pix[i] = dst.Pix[4*i]
	}
	return grey
}

// turnedThumb returns a small picture as its image is shown.
func turnedThumb(img image.Image, t imaging.Turn) image.Image {
	if img == nil || t <= imaging.TurnNone {
		return img
	}
	from := img.Bounds()
	w, h := from.Dx(), from.Dy()
	tw, th := w, h
	if t.Lying() {
		tw, th = h, w
	}
	out := image.NewGray(image.Rect(0, 0, tw, th))
	for y := range th {
		for x := range tw {
			sx, sy := t.Stored(float64(x), float64(y), w, h)
			out.Set(x, y, img.At(from.Min.X+int(sx), from.Min.Y+int(sy)))
		}
	}
	return out
}
