package outline

import "errors"

// ErrNoEdge marks a place that no closed edge surrounds: healthy bone, a
// tooth, air, or a dark region that is open at a side or at the picture's
// border. The error's text gives the reason.
var ErrNoEdge = errors.New("no closed edge")

// noEdge is a refusal with its reason.
type noEdge struct{ reason string }

func (e *noEdge) Error() string        { return "outline a lesion: " + e.reason }
func (e *noEdge) Is(target error) bool { return target == ErrNoEdge }
