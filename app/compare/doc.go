// Package compare is the room where two radiographs of a tooth are brought
// into one frame while the window goes on: it runs the alignment and the
// subtraction of package align, keeps the latest results, and finds for a place
// on one image its partner on the other. Start with [Room.Join]; then
// [Room.Difference] for what changed, and [Partner] for marks in pairs.
//
// How the images lie: an image that is shown mirrored or turned is compared as
// it is shown; all positions that go in and come out are pixels of the images
// as they are stored (pixel centres at integers, y down).
//
// Results are kept by the digests of both images, how they lie, the pairs and
// the outlines left out: the same question is answered once. Methods may be
// called from any goroutine and stop when their context does.
//
// The package knows no window and no casebook, computes no finding and decides
// nothing: which map is recorded with a recall is the reader's matter.
package compare
