package jpeg2000

import (
	"testing"

	"pgregory.net/rapid"
)

// writeTree writes the bits of T.800 B.10.2 that say whether the value of leaf
// is below threshold. nodes are laid out as in tagTree; value has the minima,
// low what has been said so far, and done whether the value itself has.
func writeTree(w *bitWriter, t tagTree, value, low []int, done []bool, leaf, threshold int) {
	var path []int
	for i := leaf; i >= 0; i = int(t[i].parent) {
		path = append([]int{i}, path...)
	}
	at := 0
	for _, i := range path {
		at = max(at, low[i])
		for ; at < threshold && !done[i]; at++ {
			if at >= value[i] {
				w.bit(1)
				done[i] = true
				break
			}
			w.bit(0)
		}
		low[i] = at
	}
}

func TestTagTree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 9).Draw(t, "width"), rapid.IntRange(1, 9).Draw(t, "height")
		tree := make(tagTree, tagTreeSize(w, h))
		tree.reset(w, h)
		value := make([]int, len(tree))
		for i := range value {
			value[i] = 1 << 20
			if i < w*h {
				value[i] = rapid.IntRange(0, 12).Draw(t, "value")
			}
			if p := tree[i].parent; p >= 0 && int(p) <= i {
				t.Fatalf("node %d has parent %d", i, p)
			}
		}
		for i := range value {
			if p := tree[i].parent; p >= 0 {
				value[p] = min(value[p], value[i])
			}
		}
		type question struct{ leaf, threshold int }
		var asked []question
		out := newBitWriter()
		low, done := make([]int, len(tree)), make([]bool, len(tree))
		for range rapid.IntRange(1, 60).Draw(t, "questions") {
			q := question{rapid.IntRange(0, w*h-1).Draw(t, "leaf"), rapid.IntRange(1, 14).Draw(t, "threshold")}
			asked = append(asked, q)
			writeTree(out, tree, value, low, done, q.leaf, q.threshold)
		}
		r := &bitReader{data: out.bytes()}
		for _, q := range asked {
			if got := tree.below(r, q.leaf, q.threshold); got != (value[q.leaf] < q.threshold) {
				t.Fatalf("leaf %d of value %d below %d: %t", q.leaf, value[q.leaf], q.threshold, got)
			}
		}
		if r.over || r.pos != len(r.data) {
			t.Fatalf("read %d bytes of %d, over %t", r.pos, len(r.data), r.over)
		}
	})
}

func TestBitReaderStuffing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.SliceOf(rapid.SampledFrom([]int{0, 1, 1, 1, 1})).Draw(t, "bits")
		w := newBitWriter()
		for _, b := range want {
			w.bit(b)
		}
		r := &bitReader{data: w.bytes()}
		for i, b := range want {
			if got := r.bit(); got != b {
				t.Fatalf("bit %d is %d, want %d", i, got, b)
			}
		}
		if r.over {
			t.Fatal("read past the end")
		}
		if r.bits(16); !r.over {
			t.Fatal("reading past the end went unnoticed")
		}
	})
}
