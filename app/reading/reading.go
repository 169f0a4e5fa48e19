// Package reading brings images and arithmetic together: it decodes the
// originals that marks refer to, keeps them at hand, and asks measure for the
// findings. Start with [New] for a case or [File] for a marks file.
//
// It stores nothing and shows nothing, and computes no number itself.
package reading

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"

	"rootrule/imaging"
	"rootrule/measure"
)

// Originals gives the bytes of the original file of an image, by image id.
type Originals interface {
	Original(imageID string) ([]byte, error)
}

// Reader decodes images once and computes findings from them. Of the decoded
// images it keeps those used last. It is safe for use by several goroutines.
type Reader struct {
	from Originals
	mu   sync.Mutex
	got  map[string]*once
	turn int // counts uses
	most int // bytes of decoded images that are kept
}

// once is one image: being decoded, or done.
type once struct {
	sync.Once
	image   *imaging.Image // nil before, and after it was given up for others
	err     error
	spacing *measure.Spacing // stays when the image is given up
	used    int              // turn of the last use
}

// mostKept is how many bytes of decoded images are kept for one case: thirty
// of twelve megabytes. Generous, no source.
const mostKept = 384 << 20

// New returns a Reader over the originals of one case.
func New(from Originals) *Reader {
	return &Reader{from: from, got: map[string]*once{}, most: mostKept}
}

// Image returns the decoded image with this id; name is the file name that
// messages show. The image is shared: it must not be changed.
func (r *Reader) Image(id, name string) (*imaging.Image, error) {
	o := r.entry(id)
	o.Do(func() {
		m, err := r.decode(id, name)
		r.mu.Lock()
		defer r.mu.Unlock()
		if o.image, o.err = m, err; err == nil {
			o.spacing = &m.Spacing
		}
	})
	r.mu.Lock()
	defer r.mu.Unlock()
	r.giveUp(o)
	return o.image, o.err
}

// Passing is [Reader.Image] for one look: an image that is not at hand is
// decoded and not kept.
func (r *Reader) Passing(id, name string) (*imaging.Image, error) {
	r.mu.Lock()
	o := r.got[id]
	var m *imaging.Image
	if o != nil {
		m = o.image
	}
	r.mu.Unlock()
	if m != nil {
		return m, nil
	}
	return r.decode(id, name)
}

func (r *Reader) decode(id, name string) (*imaging.Image, error) {
	data, err := r.from.Original(id)
	if err != nil {
		return nil, err
	}
	return imaging.Decode(name, data)
}

// entry returns the place of an image, a new one where it is to be decoded.
func (r *Reader) entry(id string) *once {
	r.mu.Lock()
	defer r.mu.Unlock()
	o := r.got[id]
	if o == nil {
		o = &once{}
		r.got[id] = o
	}
	r.turn++
	o.used = r.turn
	return o
}

// giveUp lets go of the images used longest ago, but never of keep, until the
// rest is small enough. Who holds one of them goes on with it.
func (r *Reader) giveUp(keep *once) {
	for {
		total, oldest := 0, ""
		for id, o := range r.got {
			if o.image == nil {
				continue
			}
			total += 2 * len(o.image.Pix)
			if o != keep && (oldest == "" || o.used < r.got[oldest].used) {
				oldest = id
			}
		}
		if total <= r.most || oldest == "" {
			return
		}
		r.got[oldest] = &once{spacing: r.got[oldest].spacing, used: r.got[oldest].used}
	}
}

// Describe says what the original of the image with this id is, its header
// included, but never whom it shows; name is the file name that it bears.
func (r *Reader) Describe(id, name string) (imaging.Description, error) {
	data, err := r.from.Original(id)
	if err != nil {
		return imaging.Description{}, err
	}
	return imaging.DescribeData(name, data)
}

// Findings computes the findings of marks. An image that can't be read leaves
// out what only it could give: its stated spacing and its grey values.
func (r *Reader) Findings(m measure.Marks) []measure.Finding {
	return measure.Compute(m, r.given(m))
}

// Trends returns how the lesions, canals and fillings of marks went over their
// recalls, for a plot.
func (r *Reader) Trends(m measure.Marks) []measure.Trend {
	return measure.Trends(m, r.given(m))
}

// given collects what the images of the marks state.
func (r *Reader) given(m measure.Marks) measure.Given {
	g := measure.Given{Spacing: map[string]measure.Spacing{}, Grey: map[string]measure.Grey{}}
	for _, im := range m.Images {
		if s := r.known(im.ID); s != nil && len(im.Lesions) == 0 { // only lesions ask for grey values
			g.Spacing[im.ID] = *s
			continue
		}
		img, err := r.Image(im.ID, im.File)
		if err != nil {
			continue
		}
		g.Spacing[im.ID] = img.Spacing
		g.Grey[im.ID] = img
	}
	return g
}

// known returns what an image decoded before states, nil for another.
func (r *Reader) known(id string) *measure.Spacing {
	r.mu.Lock()
	defer r.mu.Unlock()
	if o := r.got[id]; o != nil {
		return o.spacing
	}
	return nil
}

// folder reads originals as files named by the marks, relative to dir.
type folder struct {
	dir   string
	files map[string]string
}

func (f folder) Original(id string) ([]byte, error) {
	path := f.files[id]
	if !filepath.IsAbs(path) {
		path = filepath.Join(f.dir, path)
	}
	return imaging.ReadFile(path)
}

// File reads a marks file and computes its findings. Images are looked for
// beside the marks file; one that isn't there is named in missing and costs
// only what its pixels would have given.
func File(path string) (findings []measure.Finding, missing []error, err error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, nil, fmt.Errorf("read marks: %w", err)
	}
	marks, err := measure.DecodeMarks(data)
	if err != nil {
		return nil, nil, err
	}
	r := New(folder{filepath.Dir(path), fileNames(marks)})
	for _, im := range marks.Images {
		if _, err := r.Image(im.ID, im.File); err != nil {
			missing = append(missing, err)
		}
	}
	return r.Findings(marks), missing, nil
}

func fileNames(m measure.Marks) map[string]string {
	files := map[string]string{}
	for _, im := range m.Images {
		files[im.ID] = filepath.FromSlash(im.File)
	}
	return files
}
