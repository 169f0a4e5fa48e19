// Package ink draws thin, smooth lines, small shapes and words on a frame of
// device pixels, each with a dark casing so that it reads on bright enamel and
// on dark bone alike. Start with [Sheet.On], then [Sheet.Line], [Sheet.Dots]
// and [Sheet.Write].
//
// Units: device pixels, pixel centres at integers, y down. A position may lie
// between pixels and outside the frame; what is outside isn't drawn.
//
// The package knows no marks, no image and no window: what to draw and where is
// the caller's matter.
package ink
