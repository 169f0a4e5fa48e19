package jpeg2000

import (
	"errors"
	"sync/atomic"
	"testing"
)

func TestCrewRuns(t *testing.T) {
	c := &crew{size: 4}
	var sum atomic.Int64
	if err := c.run(1000, func(_, i int) error { sum.Add(int64(i)); return nil }); err != nil || sum.Load() != 499500 {
		t.Errorf("sum %d, error %v", sum.Load(), err)
	}
	want := errors.New("seventh")
	if err := c.run(1000, func(_, i int) error {
		if i == 7 {
			return want
		}
		return nil
	}); err != want {
		t.Errorf("error %v", err)
	}
}

func TestCrewPassesPanicsOn(t *testing.T) {
	defer func() {
		if p := recover(); p != "broken" {
			t.Errorf("recovered %v", p)
		}
	}()
	c := &crew{size: 4}
	_ = c.run(100, func(_, i int) error {
		if i == 50 {
			panic("broken")
		}
		return nil
	})
	t.Error("no panic")
}
