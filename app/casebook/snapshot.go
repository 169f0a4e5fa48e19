package casebook

import (
	"bytes"
	"compress/zlib"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"sync"

	"rootrule/measure"
)

// maxSnapshot bounds the JSON of one case's marks, in bytes, so that a damaged
// file can't ask for all memory: some 300,000 marks. No source.
const maxSnapshot = 16 << 20

// state is one revision of a case as it is on the disk. It is never changed
// once made: an edit makes a new one.
type state struct {
	rev, parent, next int64 // ids of revisions, 0 for none
	label, nextLabel  string
	text              []byte // JSON of marks
	marks             measure.Marks
}

// settle returns the state of given marks without a place in the history:
// the marks as they read back from the disk, so that memory and disk can't
// differ. It refuses what has no JSON form, such as a position that is not a
// number.
func settle(m measure.Marks) (state, error) {
	text, err := json.Marshal(m)
	if err != nil {
		return state{}, fmt.Errorf("a mark can't be stored: %w", err)
	}
	if len(text) > maxSnapshot {
		return state{}, fmt.Errorf("the marks of the case take %d bytes, the casebook takes %d at most", len(text), maxSnapshot)
	}
	s := state{text: text}
	if err := json.Unmarshal(text, &s.marks); err != nil {
		return state{}, fmt.Errorf("a mark can't be stored: %w", err)
	}
	return s, checkIDs(s.marks)
}

// checkIDs refuses marks in which two images share an id or one has none.
func checkIDs(m measure.Marks) error {
	seen := map[string]bool{}
	for i, im := range m.Images {
		if im.ID == "" {
			return fmt.Errorf("image %d of the case has no id", i+1)
		}
		if seen[im.ID] {
			return fmt.Errorf("image %d of the case has the id of another one", i+1)
		}
		seen[im.ID] = true
	}
	return nil
}

// packers are used again: a new one costs eight times what packing does.
var packers = sync.Pool{New: func() any {
	w, _ := zlib.NewWriterLevel(nil, zlib.BestSpeed) // fails only for a level that isn't one
	return w
}}

// pack compresses the text of a state for the disk, to less than half. zlib
// carries a checksum.
func pack(text []byte) []byte {
	var b bytes.Buffer
	w := packers.Get().(*zlib.Writer)
	defer packers.Put(w)
	w.Reset(&b)
	w.Write(text) // a bytes.Buffer takes everything
	w.Close()
	return b.Bytes()
}

// unpack is the inverse of pack, and reads the marks as well.
func unpack(packed []byte) (state, error) {
	r, err := zlib.NewReader(bytes.NewReader(packed))
	if err != nil {
		return state{}, ErrDamaged
	}
	text, err := io.ReadAll(io.LimitReader(r, maxSnapshot))
	if err != nil {
		return state{}, ErrDamaged
	}
	s := state{text: text}
	if err := json.Unmarshal(text, &s.marks); err != nil {
		return state{}, ErrDamaged
	}
	return s, nil
}

// clone returns a deep copy of marks.
func clone(m measure.Marks) measure.Marks {
	return deepCopy(reflect.ValueOf(m)).Interface().(measure.Marks)
}

// deepCopy copies the kinds that marks are made of: everything reached by
// structures, slices, arrays and pointers; the rest are plain values. It goes
// by reflection so that a field added to the marks is never shared by mistake.
func deepCopy(v reflect.Value) reflect.Value {
	to := reflect.New(v.Type()).Elem()
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			to.Field(i).Set(deepCopy(v.Field(i)))
		}
	case reflect.Slice:
		if v.IsNil() {
			return to
		}
		to.Set(reflect.MakeSlice(v.Type(), v.Len(), v.Len()))
		for i := range v.Len() {
			to.Index(i).Set(deepCopy(v.Index(i)))
		}
	case reflect.Array:
		for i := range v.Len() {
			to.Index(i).Set(deepCopy(v.Index(i)))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			to.Set(reflect.New(v.Type().Elem()))
			to.Elem().Set(deepCopy(v.Elem()))
		}
	default:
		to.Set(v)
	}
	return to
}
