package jpeg

import (
	"errors"
	"runtime/metrics"
	"testing"

	"rootrule/imaging/fault"
)

// FuzzDecode holds the decoder to its promises for any bytes: no panic, errors
// of a kind, a picture of the size it states, memory within the limit.
func FuzzDecode(f *testing.F) {
	for _, s := range seeds(f) {
		f.Add(s.stream)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		before := allocated()
		r, info, err := Decode(data)
		if used := allocated() - before; used > memoryFloor+memoryPerByte*uint64(len(data))+1<<20 {
			t.Fatalf("%d bytes of memory for a stream of %d", used, len(data))
		}
		if err != nil {
			if !errors.Is(err, fault.ErrMalformed) && !errors.Is(err, fault.ErrUnsupported) {
				t.Fatalf("an error of no kind: %v", err)
			}
			return
		}
		if len(r.Pix) != info.Width*info.Height*info.Components {
			t.Fatalf("%d samples of %+v", len(r.Pix), info)
		}
		if ahead, err := ReadInfo(data); err != nil || ahead.Width != info.Width || ahead.Height != info.Height {
			t.Fatalf("ReadInfo = %+v, %v beside %+v", ahead, err, info)
		}
	})
}

// allocated returns how many bytes the program has ever allocated.
func allocated() uint64 {
	sample := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	metrics.Read(sample)
	return sample[0].Value.Uint64()
}
