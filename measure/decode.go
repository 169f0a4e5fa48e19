package measure

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"
)

// DecodeMarks reads a marks file (JSON, version 1) and checks it as a whole.
// Unknown keys, keys given twice and values out of range are errors; all of
// them are named together, each with its JSON path, as [Problems].
func DecodeMarks(data []byte) (Marks, error) {
	m, err := DecodeDraft(data)
	if err != nil {
		return Marks{}, err
	}
	if err := m.Validate(); err != nil {
		return Marks{}, err
	}
	return m, nil
}

// DecodeDraft reads marks that may still be incomplete, such as a canal with
// one mark yet. The form of the file is checked as strictly as by
// [DecodeMarks], what the marks say is not.
func DecodeDraft(data []byte) (Marks, error) {
	root, err := parse(data)
	if err != nil {
		return Marks{}, Problems{{"", "marks file: " + err.Error()}}
	}
	var m Marks
	var problems Problems
	fill(reflect.ValueOf(&m).Elem(), root, "", &problems)
	if err := problems.asError(); err != nil {
		return Marks{}, err
	}
	return m, nil
}

// maxDepth bounds the nesting of a marks file; version 1 needs 7.
const maxDepth = 32

// object is a JSON object with its keys in order, repeated ones included.
type object []member

type member struct {
	key   string
	value any
}

// parse reads one JSON value: object, []any, string, json.Number, bool or nil.
func parse(data []byte) (any, error) {
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	v, err := parseValue(d, 0)
	if err == nil {
		if _, more := d.Token(); more != io.EOF {
			return nil, fmt.Errorf("there is more after the end of the JSON, at byte %d", d.InputOffset())
		}
		return v, nil
	}
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, errors.New("the file ends before its JSON does")
	}
	return nil, fmt.Errorf("not JSON near byte %d: %w", d.InputOffset(), err)
}

func parseValue(d *json.Decoder, depth int) (any, error) {
	token, err := d.Token()
	if err != nil {
		return nil, err
	}
	open, isDelim := token.(json.Delim)
	if !isDelim {
		return token, nil
	}
	if depth == maxDepth {
		return nil, fmt.Errorf("nested more than %d deep", maxDepth)
	}
	if open == '[' {
		return parseList(d, depth)
	}
	return parseObject(d, depth)
}

func parseList(d *json.Decoder, depth int) (any, error) {
	list := []any{}
	for d.More() {
		v, err := parseValue(d, depth+1)
		if err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	_, err := d.Token()
	return list, err
}

func parseObject(d *json.Decoder, depth int) (any, error) {
	var o object
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return nil, err
		}
		v, err := parseValue(d, depth+1)
		if err != nil {
			return nil, err
		}
		o = append(o, member{key.(string), v})
	}
	_, err := d.Token()
	return o, err
}

// fill puts a parsed value into a variable of the marks, and adds what does
// not fit to the problems.
func fill(v reflect.Value, from any, path string, problems *Problems) {
	if p, ok := v.Addr().Interface().(*Point); ok {
		fillPoint(p, from, path, problems)
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		if from != nil {
			v.Set(reflect.New(v.Type().Elem()))
			fill(v.Elem(), from, path, problems)
		}
	case reflect.Struct:
		fillStruct(v, from, path, problems)
	case reflect.Slice, reflect.Array:
		fillList(v, from, path, problems)
	case reflect.String:
		if s, ok := from.(string); ok {
			v.SetString(s)
		} else {
			problems.add(path, "must be a text, is %s", kindOf(from))
		}
	case reflect.Float64:
		if x, ok := number(from, path, problems); ok {
			v.SetFloat(x)
		}
	case reflect.Int:
		if x, ok := number(from, path, problems); ok {
			if x != math.Trunc(x) || math.Abs(x) > 1e9 {
				problems.add(path, "must be a whole number, is %v", x)
				return
			}
			v.SetInt(int64(x))
		}
	case reflect.Bool:
		if b, ok := from.(bool); ok {
			v.SetBool(b)
		} else {
			problems.add(path, "must be true or false, is %s", kindOf(from))
		}
	default:
		panic("measure: no rule to decode " + v.Type().String())
	}
}

func fillStruct(v reflect.Value, from any, path string, problems *Problems) {
	o, ok := from.(object)
	if !ok {
		problems.add(path, "must be an object, is %s", kindOf(from))
		return
	}
	fields := map[string]int{}
	for i := range v.NumField() {
		key, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
		fields[key] = i
	}
	seen := map[string]bool{}
	for _, m := range o {
		at := strings.TrimPrefix(path+"."+m.key, ".")
		i, ok := fields[m.key]
		switch {
		case !ok:
			problems.add(at, "unknown key")
		case seen[m.key]:
			problems.add(at, "given twice")
		default:
			fill(v.Field(i), m.value, at, problems)
		}
		seen[m.key] = true
	}
}

func fillList(v reflect.Value, from any, path string, problems *Problems) {
	if from == nil && v.Kind() == reflect.Slice {
		return // as encoding/json writes a list without entries
	}
	list, ok := from.([]any)
	if !ok {
		problems.add(path, "must be a list, is %s", kindOf(from))
		return
	}
	if v.Kind() == reflect.Slice {
		v.Set(reflect.MakeSlice(v.Type(), len(list), len(list)))
	} else if len(list) != v.Len() {
		problems.add(path, "must have %d entries, has %d", v.Len(), len(list))
		return
	}
	for i, x := range list {
		fill(v.Index(i), x, path+"["+strconv.Itoa(i)+"]", problems)
	}
}

func fillPoint(p *Point, from any, path string, problems *Problems) {
	list, ok := from.([]any)
	if !ok || len(list) != 2 && len(list) != 3 {
		problems.add(path, "a mark is [x, y] or [x, y, u] in px, is %s", kindOf(from))
		return
	}
	into := [3]*float64{&p.X, &p.Y, &p.U}
	for i, x := range list {
		if f, ok := number(x, path+"["+strconv.Itoa(i)+"]", problems); ok {
			*into[i] = f
		}
	}
	if len(list) == 3 && !(p.U > 0) {
		problems.add(path+"[2]", "the standard uncertainty of a mark must be above 0 px, is %v", p.U)
	}
}

// number reads a JSON number. One too large for a float is a problem, not an
// infinity.
func number(from any, path string, problems *Problems) (float64, bool) {
	n, ok := from.(json.Number)
	if !ok {
		problems.add(path, "must be a number, is %s", kindOf(from))
		return 0, false
	}
	x, err := n.Float64()
	if err != nil {
		problems.add(path, "the number %s is out of range", n)
		return 0, false
	}
	return x, true
}

// kindOf names a parsed value in an error.
func kindOf(v any) string {
	switch v := v.(type) {
	case nil:
		return "null"
	case object:
		return "an object"
	case []any:
		return fmt.Sprintf("a list of %d", len(v))
	case string:
		return fmt.Sprintf("the text %.40q", v)
	case bool:
		return fmt.Sprint(v)
	case json.Number:
		return fmt.Sprintf("the number %.40s", v)
	}
	return fmt.Sprintf("%T", v)
}
