// Package outline finds the edge of a periapical lesion: [Lesion] from one
// click inside it, [Loop] from a rough line around it. The result is a smooth
// closed outline at half the height of the edge, as marks for package measure,
// each with its own standard uncertainty, so that the area and the diameters
// that measure makes of them are as uncertain as they are. [Volume] does the
// same in three dimensions.
//
// How it works: ellipses around the click, on a grid of sizes, shapes and
// places, are scored by the slope across their edge; the typical slope counts,
// not the strongest, so that a root's own bright edge attracts no outline. The
// best ones are followed up by a closed least-cost path, then the step model
// of an edge is fitted to the grey values across it, and a smooth shape to the
// places found. How smooth is decided by the evidence: what the bone's texture
// alone makes of the edge model is measured outside the lesion. Stretches that
// disagree with the rest, as where a root lies over the edge, are bridged, and
// [Outline.Cautions] names them with the side of the lesion they lie on.
//
// It is an error that matches [ErrNoEdge], with the reason in words, when
// there is no closed edge: [Outline.Confidence] would be below one half.
//
// Units: px, pixel centres at integers, (0,0) the centre of the top-left
// pixel, y down; grey values as stored, darker inside the lesion whatever the
// file's polarity. Volumes in mm.
//
// It does not diagnose: any dark region with a closed edge has an outline, a
// large marrow space or a foramen too. It finds outlines that are star-shaped
// about their middle, no more than about three times as long as wide, with a
// radius of 5 to 400 px. It knows nothing of millimetres in pictures.
package outline
