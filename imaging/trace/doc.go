// Package trace finds the centre line of a canal, a file or a filling between
// two marks, so that two clicks do the work of twenty and scatter less.
//
// Start with [Canal] for one line on a picture, with [NewMap] where several
// lines are wanted on the same picture or one is to follow a dragged mark
// ([Map.Live]), with [File] and [Tip] for instruments and fillings, and with
// [CanalIn] for a volume. What they stand on is open
// too: [Frangi] and [Sato] are the ridge filters, [LeastCost] the path search,
// each for pictures and volumes.
//
// How a line is found: a ridge filter at several widths, each measured in units
// of its own background, gives the cost of a step; the least-cost path joins
// the marks; along it the picture is straightened, and at each place the line
// moves to the axis of symmetry of the profile across it. A smoothing spline
// whose stiffness comes from the scatter of these places (Wahba 1983) makes the
// smooth line, and says how well it is known: that is the standard uncertainty
// of each point, across the line.
//
// What may be wrong is said: where the profile across the line fits two canals
// better than one, where something bright hides a side of it, or where the line
// passes a mark by, the standard uncertainty grows until it covers the other
// line, the confidence falls, and a caution says where to click. A filling in a
// canal that was looked for as dark is followed as such. Where no line is
// credible there is an error.
//
// Units: pixels on a picture (pixel centres at integers, y down), mm from the
// centre of the first voxel along the volume's own axes in a volume. Stored
// grey values are used as they are: no window or enhancement plays a part.
//
// What it does not do: it never decides where a canal ends. A line begins and
// ends where the marks say, moved across onto the ridge only where asked to
// ([Options.Snap]); for a bright file the tip and the stop are then found too.
// It knows no millimetres on a picture and no tooth.
package trace
