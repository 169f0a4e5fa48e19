package compare

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"sync"

	"rootrule/imaging"
	"rootrule/imaging/align"
	"rootrule/measure"
)

// Image is one of the two images that are compared.
type Image struct {
	Digest  string // of its original: what its results are kept under
	Picture *imaging.Image
	Turn    imaging.Turn // how it is shown; 0 as stored
}

// Question is what is asked of the room.
type Question struct {
	Before, After Image
	// Pairs are marks of the same structures, {before, after}, in stored pixels.
	Pairs [][2]measure.Point
	// Exclude are outlines on Before that are not looked at: what may have
	// changed, such as lesions.
	Exclude [][]measure.Point
}

// Joined is how the later image lies on the earlier one.
type Joined struct {
	// Matrix takes stored pixels of the later image to those of the earlier one.
	Matrix measure.Alignment
	Model  string // one of the measure.Model… names
	// Residual is the root mean square distance, in px of the earlier image, by
	// which the map is thought to miss.
	Residual float64
	BadPairs []int // pairs that don't fit, counted from 0
	Cautions []string

	result align.Result      // in pixels of the images as they are shown
	after  measure.Alignment // stored pixels of the later image to those
}

// StdUnc is the standard uncertainty, in px of the earlier image and in each
// direction, of where the map puts the stored pixel p of the later one.
func (j *Joined) StdUnc(p measure.Point) float64 { return j.result.Uncertainty(j.after.Map(p)) }

// Room answers questions and keeps the latest answers. Its zero value is ready.
type Room struct {
	mu   sync.Mutex
	kept []*answer // the latest last
}

// keep is the number of answers that are kept: with its difference each takes
// some 10 bytes a pixel. Common practice, no source.
const keep = 4

// answer is what is known about one question.
type answer struct {
	key        string
	mu         sync.Mutex // held while it is worked out
	joined     *Joined
	refused    error // a refusal; other errors are not kept
	difference *Difference
}

// key names a question by what its answer depends on.
func (q Question) key() (string, error) {
	data, err := json.Marshal([]any{q.Before.Digest, q.Before.Turn, q.After.Digest, q.After.Turn, q.Pairs, q.Exclude})
	if err != nil {
		return "", fmt.Errorf("compare two images: a mark is not a number: mark it again: %w", err)
	}
	return string(data), nil
}

// answer finds or makes the place for the answer to a question.
func (r *Room) answer(q Question) (*answer, error) {
	key, err := q.key()
	if err != nil {
		return nil, err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	for i, a := range r.kept {
		if a.key == key {
			r.kept = append(append(r.kept[:i:i], r.kept[i+1:]...), a)
			return a, nil
		}
	}
	a := &answer{key: key}
	if r.kept = append(r.kept, a); len(r.kept) > keep {
		r.kept = r.kept[1:]
	}
	return a, nil
}

// Join brings the later image into the frame of the earlier one. Where the two
// can't be compared the error is an [*align.Refusal].
func (r *Room) Join(ctx context.Context, q Question) (*Joined, error) {
	a, err := r.answer(q)
	if err != nil {
		return nil, err
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.joined == nil && a.refused == nil {
		if err := a.join(ctx, q); err != nil {
			return nil, err
		}
	}
	return a.joined, a.refused
}

// join works the answer out.
func (a *answer) join(ctx context.Context, q Question) error {
	result, err := align.Images(ctx, q.Before.upright(), q.After.upright(), q.options())
	if isRefusal(err) {
		a.refused = err
		return nil
	}
	if err != nil {
		return err
	}
	back, ok := q.Before.lie().Inverse()
	if !ok {
		return errors.New("compare two images: the first has no pixels: choose another")
	}
	turned := q.After.lie()
	a.joined = &Joined{Matrix: normal(back.After(measure.Alignment(result.Matrix)).After(turned)), Model: result.Model,
		Residual: result.Residual, BadPairs: result.BadPairs, Cautions: result.Cautions, result: result, after: turned}
	return nil
}

// options asks for the pairs and outlines as the images are shown.
func (q Question) options() align.Options {
	before, after := q.Before.lie(), q.After.lie()
	var o align.Options
	for _, p := range q.Pairs {
		o.Pairs = append(o.Pairs, [2]measure.Point{before.Map(p[0]), after.Map(p[1])})
	}
	for _, outline := range q.Exclude {
		turned := make([]measure.Point, len(outline))
		for i, p := range outline {
			turned[i] = before.Map(p)
		}
		o.Exclude = append(o.Exclude, turned)
	}
	return o
}

// normal scales a map so that its last element is 1.
func normal(a measure.Alignment) measure.Alignment {
	w := a[2][2]
	for i := range a {
		for j := range a[i] {
			a[i][j] /= w
		}
	}
	return a
}
