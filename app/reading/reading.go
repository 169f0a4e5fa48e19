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

// Reader decodes images once and computes findings from them. It is safe for
// use by several goroutines.
type Reader struct {
	from Originals
	mu   sync.Mutex
	got  map[string]*once
}

// once is one image: being decoded, or done.
type once struct {
	sync.Once
	image *imaging.Image
	err   error
}

// New returns a Reader over the originals of one case.
func New(from Originals) *Reader { return &Reader{from: from, got: map[string]*once{}} }

// Image returns the decoded image with this id; name is the file name that
// messages show. The image is shared: it must not be changed.
func (r *Reader) Image(id, name string) (*imaging.Image, error) {
	r.mu.Lock()
	o := r.got[id]
	if o == nil {
		o = &once{}
		r.got[id] = o
	}
	r.mu.Unlock()
	o.Do(func() {
		var data []byte
		if data, o.err = r.from.Original(id); o.err == nil {
			o.image, o.err = imaging.Decode(name, data)
		}
	})
	return o.image, o.err
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
		img, err := r.Image(im.ID, im.File)
		if err != nil {
			continue
		}
		g.Spacing[im.ID] = img.Spacing
		g.Grey[im.ID] = img
	}
	return g
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
