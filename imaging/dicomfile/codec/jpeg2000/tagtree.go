package jpeg2000

import "math"

// A tagTree codes a small array of numbers by the minima of 2 × 2 groups
// (T.800 B.10.2). Nodes are stored level by level, leaves first, row by row.
type tagTree []tagNode

type tagNode struct {
	parent int32  // index, -1 at the root
	low    uint16 // the value is known to be at least this
	value  uint16 // unknownValue until it is known
}

const unknownValue = math.MaxUint16

// tagTreeSize returns the number of nodes above and including w × h leaves.
func tagTreeSize(w, h int) int {
	n := w * h
	for w > 1 || h > 1 {
		w, h = (w+1)/2, (h+1)/2
		n += w * h
	}
	return n
}

// reset links the nodes of a tree over w × h leaves; t has tagTreeSize(w, h).
func (t tagTree) reset(w, h int) {
	base := 0
	for {
		next := base + w*h
		up := (w + 1) / 2
		for i := range w * h {
			parent := next + i/w/2*up + i%w/2
			t[base+i] = tagNode{parent: int32(parent), value: unknownValue}
		}
		if w <= 1 && h <= 1 {
			t[base].parent = -1
			return
		}
		base, w, h = next, up, (h+1)/2
	}
}

// below reads as many bits as it takes to tell whether the value of a leaf is
// below the threshold. At the end of r's bits it says no.
func (t tagTree) below(r *bitReader, leaf, threshold int) bool {
	var path [32]int32
	depth := 0
	for i := int32(leaf); i >= 0; i = t[i].parent {
		path[depth] = i
		depth++
	}
	low := 0
	for depth > 0 {
		depth--
		n := &t[path[depth]]
		low = max(low, int(n.low))
		for low < threshold && low < int(n.value) && !r.over {
			if r.bit() == 1 {
				n.value = uint16(low)
			} else {
				low++
			}
		}
		n.low = uint16(low)
	}
	return int(t[leaf].value) < threshold
}
