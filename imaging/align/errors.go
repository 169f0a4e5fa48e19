package align

import "errors"

// Why a pair is refused. Errors of [Images] match one of these with errors.Is
// where the pictures can't be compared.
var (
	// ErrUnrelated marks pictures that do not show the same tooth, or too
	// little of it in common.
	ErrUnrelated = errors.New("not the same tooth")
	// ErrMirrored marks pictures of which one is mirrored left to right;
	// [Options].Flip takes the second one so.
	ErrMirrored = errors.New("mirrored")
	// ErrOblique marks pictures taken from directions too different to be
	// compared.
	ErrOblique = errors.New("too oblique")
	// ErrPairs marks marked pairs that fix no map or contradict each other.
	ErrPairs = errors.New("pairs do not fit")
)

// Refusal is why two pictures can't be brought into one frame. Its kind is one
// of the errors above, its text a sentence with the reason and what to do.
type Refusal struct {
	Kind   error
	Reason string
}

func (r *Refusal) Error() string        { return "align two images: " + r.Reason }
func (r *Refusal) Is(target error) bool { return target == r.Kind }

func refuse(kind error, reason string) error { return &Refusal{kind, reason} }
