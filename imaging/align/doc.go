// Package align brings two radiographs of the same tooth, taken years apart,
// into one frame and says what differs between them. Start with [Images],
// which finds the map from the later picture to the earlier one; [Warp] then
// shows the later picture in the earlier one's frame, and [Subtract] gives
// their difference in units of its own noise.
//
// How it is done. A coarse search compares the directions of edges over turns,
// scales and shifts, so that no marks are needed; marked pairs are a further
// start and a check. From there, resolution by resolution, the earlier picture
// is cut into blocks and each block says how far it has to move, letting its
// own brightness and contrast be free (Lucas & Kanade 1981, IJCAI, in the
// inverse form of Baker & Matthews 2004, IJCV 56:221–255; the criterion is the
// correlation coefficient that Evangelidis & Psarakis 2008, IEEE PAMI
// 30:1858–1865, maximise, here block by block). One affine or projective map
// is fitted to what the blocks say, each with its own covariance, robustly
// (Geman & McClure 1987): blocks that changed, such as a lesion that healed or
// a crown, disagree with the others and lose their say. What the blocks say
// apart from the map is the residual, and gives the uncertainty.
//
// A pair that can't be compared is refused with an error of type [*Refusal]:
// different teeth, a mirrored picture, a beam too oblique.
//
// Units: pixels; centres at integers, (0,0) the centre of the top-left pixel, x
// to the right, y down. "Before" and "after" are the two pictures.
//
// It decides nothing about healing (package measure does the arithmetic of
// recalls), it finds no lesion (outline), it writes no file, and it can't undo
// a change of the beam's direction: what lies at another depth then moves
// against the rest, which shows in the residual.
package align
