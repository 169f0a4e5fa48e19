package casebook

import (
	"reflect"
	"slices"

	"rootrule/measure"
)

// merge carries what was done between base and mine over to theirs, the newer
// state that another window has made from base. The unit is one field of one
// image (its canals, its lesions, …), the list of views, the list of recalls:
// where both sides changed the same unit to different values it returns
// [ErrChanged]. The edit itself is never run again on marks that its author
// hasn't seen: "delete the third mark" could hit another one there.
func merge(base, mine, theirs measure.Marks) (state, error) {
	to := clone(theirs)
	ok := take(&to, base, mine, "Images")
	if !ok {
		return state{}, ErrChanged
	}
	if to.Images, ok = mergeImages(base.Images, mine.Images, theirs.Images); !ok {
		return state{}, ErrChanged
	}
	return settle(to)
}

// take puts each field that differs between base and mine into to, except
// the named one, and reports whether to had the old or the same value in all.
func take[T any](to *T, base, mine T, except string) bool {
	t, b, m := reflect.ValueOf(to).Elem(), reflect.ValueOf(base), reflect.ValueOf(mine)
	for i := range t.NumField() {
		was, want, is := b.Field(i).Interface(), m.Field(i).Interface(), t.Field(i).Interface()
		if t.Type().Field(i).Name == except || reflect.DeepEqual(was, want) {
			continue
		}
		if !reflect.DeepEqual(was, is) && !reflect.DeepEqual(want, is) {
			return false
		}
		t.Field(i).Set(deepCopy(m.Field(i)))
	}
	return true
}

// mergeImages merges lists of images by their ids: theirs in its order, then
// what was added in mine.
func mergeImages(base, mine, theirs []measure.ImageMarks) (to []measure.ImageMarks, ok bool) {
	if !sameOrder(base, mine) {
		return nil, false // images were put in another order: not merged
	}
	for _, im := range theirs {
		b, m := byID(base, im.ID), byID(mine, im.ID)
		switch {
		case b == nil && m == nil: // added by them
		case b == nil: // added by both
			if !reflect.DeepEqual(im, *m) {
				return nil, false
			}
		case m == nil: // removed by us
			if !reflect.DeepEqual(im, *b) {
				return nil, false
			}
			continue
		default:
			if !take(&im, *b, *m, "") {
				return nil, false
			}
		}
		to = append(to, im)
	}
	for _, im := range mine {
		b := byID(base, im.ID)
		if byID(theirs, im.ID) != nil {
			continue
		}
		if b != nil && !reflect.DeepEqual(*b, im) { // removed by them, changed by us
			return nil, false
		}
		if b == nil {
			to = append(to, im)
		}
	}
	return to, true
}

// sameOrder reports whether the images that both lists have come in the same
// order.
func sameOrder(a, b []measure.ImageMarks) bool {
	common := func(list, other []measure.ImageMarks) (ids []string) {
		for _, im := range list {
			if byID(other, im.ID) != nil {
				ids = append(ids, im.ID)
			}
		}
		return ids
	}
	return slices.Equal(common(a, b), common(b, a))
}

// byID returns the image with an id, or nil.
func byID(list []measure.ImageMarks, id string) *measure.ImageMarks {
	for i := range list {
		if list[i].ID == id {
			return &list[i]
		}
	}
	return nil
}
