package measure

import (
	"encoding/json"
	"errors"
	"reflect"
	"strings"
	"testing"
)

const goodMarks = `{"version":1,
 "images":[{"id":"pre","file":"pre.png","stage":"pre-operative","date":"2026-01-31",
   "calibration":[{"kind":"file","length_mm":21.0,"u_mm":0.25,"marks":[[10,10],[10,430]],"by":"corrected"},
                  {"kind":"distance","length_mm":5.0,"marks":[[0,0],[100,0]]},
                  {"kind":"stated"}],
   "canals":[{"tooth":"46","name":"ML","marks":[[50,20],[52,100],[60,200,0.4],[90,300]],"orifice":1,"curve_start":null,"offset_mm":1.0,"eal_mm":20.5,"by":"assisted"}],
   "lesions":[{"tooth":"46","name":"D","outline":[[0,0],[50,0],[25,40]],"pai":4,"by":"hand"}],
   "fillings":[{"tooth":"46","canal":"D","tip":[1,2],"apex":[3,4],"by":"hand"}],
   "obstructions":[{"tooth":"46","canal":"ML","kind":"instrument","marks":[[50,20],[52,100]]}]},
  {"id":"post","mirrored":true,"file":"post.png","lesions":[{"tooth":"46","name":"D","outline":[[0,0],[50,0],[25,40]]}]}],
 "views":[{"images":["pre","post"],"angle_deg":20,"detector":"parallel"}],
 "recalls":[{"before":"pre","after":"post","pairs":[[[1,2],[3,4]]],"lesion":"D",
   "map":[[1.02,0.01,-3.5],[-0.02,0.99,4],[1e-5,-2e-5,1]],"map_u_px":0.1,"model":"projective","outcome":"healing","next":"2027-01-31"}]}`

func TestDecodeMarksReadsWhatTheContractShows(t *testing.T) {
	m, err := DecodeMarks([]byte(goodMarks))
	if err != nil {
		t.Fatal(err)
	}
	c := m.Images[0].Canals[0]
	if c.Marks[2] != (Point{60, 200, 0.4}) || c.Orifice != 1 || c.CurveStart != nil || *c.EALMM != 20.5 {
		t.Errorf("canal read as %+v", c)
	}
	if m.Recalls[0].Pairs[0][1] != Pt(3, 4) || m.Views[0].AngleDeg != 20 {
		t.Errorf("views %+v, recalls %+v", m.Views, m.Recalls)
	}
}

// What is written is read again as it was, every key of the form included.
func TestMarksSurviveWriting(t *testing.T) {
	m, err := DecodeMarks([]byte(goodMarks))
	if err != nil {
		t.Fatal(err)
	}
	r := m.Recalls[0]
	if !m.Images[1].Mirrored || r.Map == nil || r.Map[2][1] != -2e-5 || *r.MapUPX != 0.1 || r.Outcome != OutcomeHealing || r.Next != "2027-01-31" {
		t.Errorf("recall read as %+v", r)
	}
	out, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	again, err := DecodeMarks(out)
	if err != nil || !reflect.DeepEqual(m, again) {
		t.Errorf("%v: %+v read again as %+v", err, m, again)
	}
}

func TestDecodeMarksNamesEveryProblemWithItsPath(t *testing.T) {
	cases := []struct{ name, from, to, want string }{
		{"unknown key", `"stage"`, `"sstage"`, `images[0].sstage: unknown key`},
		{"key twice", `"id":"pre",`, `"id":"pre","id":"pre",`, `images[0].id: given twice`},
		{"case of keys counts", `"tooth":"46","name":"ML"`, `"Tooth":"46","name":"ML"`, `images[0].canals[0].Tooth: unknown key`},
		{"version", `"version":1`, `"version":2`, `version: must be 1, is 2`},
		{"text for a number", `"length_mm":21.0`, `"length_mm":"21"`, `images[0].calibration[0].length_mm: must be a number, is the text "21"`},
		{"number out of range", `[52,100]`, `[52,1e999]`, `images[0].canals[0].marks[1][1]: the number 1e999 is out of range`},
		{"absurd position", `[52,100]`, `[52,1e9]`, `images[0].canals[0].marks[1][1]: is 1e+09 px; must be -1e+06 to 1e+06`},
		{"mark of four", `[52,100]`, `[52,100,1,1]`, `images[0].canals[0].marks[1]: a mark is [x, y] or [x, y, u] in px, is a list of 4`},
		{"negative click", `[60,200,0.4]`, `[60,200,-0.4]`, `images[0].canals[0].marks[2][2]: the standard uncertainty of a mark must be above 0 px`},
		{"empty id", `"id":"pre"`, `"id":""`, `images[0].id: must not be empty`},
		{"duplicate id", `"id":"post"`, `"id":"pre"`, `images[1].id: "pre" is the id of images[0] too`},
		{"orifice at the apex", `"orifice":1`, `"orifice":3`, `images[0].canals[0].orifice: is 3; must be 0 to 2`},
		{"orifice negative", `"orifice":1`, `"orifice":-1`, `images[0].canals[0].orifice: is -1`},
		{"orifice fractional", `"orifice":1`, `"orifice":1.5`, `images[0].canals[0].orifice: must be a whole number, is 1.5`},
		{"start before the orifice", `"curve_start":null`, `"curve_start":1`, `images[0].canals[0].curve_start: is 1; must lie between the orifice (1) and the apex (3)`},
		{"start at the apex", `"curve_start":null`, `"curve_start":3`, `images[0].canals[0].curve_start: is 3`},
		{"too few marks", `"outline":[[0,0],[50,0],[25,40]],"pai"`, `"outline":[[0,0],[50,0]],"pai"`, `images[0].lesions[0].outline: needs at least 3 marks, has 2`},
		{"equal marks", `[[0,0],[100,0]]`, `[[5,5],[5,5]]`, `images[0].calibration[1].marks[1]: lies at the same place`},
		{"unknown kind", `"kind":"distance"`, `"kind":"ruler"`, `images[0].calibration[1].kind: unknown kind "ruler"`},
		{"unknown obstruction", `"kind":"instrument"`, `"kind":"stone"`, `images[0].obstructions[0].kind: unknown kind "stone"`},
		{"unknown stage", `"pre-operative"`, `"before"`, `images[0].stage: unknown stage "before"`},
		{"bad date", `2026-01-31`, `2026-02-31`, `images[0].date: "2026-02-31" is no date`},
		{"view of no image", `["pre","post"]`, `["pre","other"]`, `views[0].images[1]: no image has the id "other"`},
		{"view of three", `["pre","post"]`, `["pre","post","pre"]`, `views[0].images: must have 2 entries, has 3`},
		{"no tube shift", `"angle_deg":20`, `"angle_deg":0`, `views[0].angle_deg: is 0`},
		{"detector", `"parallel"`, `"flat"`, `views[0].detector: unknown detector "flat"`},
		{"recall of no image", `"before":"pre"`, `"before":"prae"`, `recalls[0].before: no image has the id "prae"`},
		{"recall of no lesion", `"lesion":"D"`, `"lesion":"M"`, `recalls[0].lesion: image "pre" has no lesion "M"`},
		{"PAI", `"pai":4`, `"pai":6`, `images[0].lesions[0].pai: is 6; the periapical index goes from 1 to 5`},
		{"negative length", `"length_mm":21.0`, `"length_mm":-21.0`, `images[0].calibration[0].length_mm: is -21 mm; must be above 0`},
		{"no length", `"length_mm":21.0,`, ``, `images[0].calibration[0].length_mm: is 0 mm`},
		{"negative uncertainty", `"u_mm":0.25`, `"u_mm":-1`, `images[0].calibration[0].u_mm: is -1 mm`},
		{"negative offset", `"offset_mm":1.0`, `"offset_mm":-1`, `images[0].canals[0].offset_mm: is -1 mm`},
		{"absurd EAL", `"eal_mm":20.5`, `"eal_mm":2050`, `images[0].canals[0].eal_mm: is 2050 mm`},
		{"no such tooth", `"tooth":"46","name":"ML"`, `"tooth":"49","name":"ML"`, `images[0].canals[0].tooth: there is no tooth "49" in FDI notation`},
		{"null list", `"outline":[[0,0],[50,0],[25,40]]}]`, `"outline":null}]`, `images[1].lesions[0].outline: needs at least 3 marks, has 0`},
		{"how marks came about", `"by":"assisted"`, `"by":"robot"`, `images[0].canals[0].by: unknown "robot"; write "hand", "assisted" or "corrected"`},
		{"how it was calibrated", `"by":"corrected"`, `"by":"x"`, `images[0].calibration[0].by: unknown "x"`},
		{"how it was outlined", `"pai":4,"by":"hand"`, `"pai":4,"by":1`, `images[0].lesions[0].by: must be a text, is the number 1`},
		{"mirrored", `"mirrored":true`, `"mirrored":1`, `images[1].mirrored: must be true or false, is the number 1`},
		{"map of two rows", `[1e-5,-2e-5,1]],`, `],`, `marks file: not JSON near byte`},
		{"map of two columns", `[1e-5,-2e-5,1]`, `[1e-5,1]`, `recalls[0].map[2]: must have 3 entries, has 2`},
		{"map not normalised", `[1e-5,-2e-5,1]`, `[1e-5,-2e-5,2]`, `recalls[0].map: maps no image onto another`},
		{"map onto a line", `[-0.02,0.99,4]`, `[1.02,0.01,-3.5]`, `recalls[0].map: maps no image onto another`},
		{"map of a number", `[1.02,0.01,-3.5]`, `[1.02,"a",-3.5]`, `recalls[0].map[0][1]: must be a number`},
		{"affine with a horizon", `"model":"projective"`, `"model":"affine"`, `recalls[0].map[2]: an affine map ends with the row 0, 0, 1`},
		{"unknown model", `"model":"projective"`, `"model":"elastic"`, `recalls[0].model: unknown model "elastic"`},
		{"uncertainty of the map", `"map_u_px":0.1`, `"map_u_px":0`, `recalls[0].map_u_px: is 0 px; must be above 0`},
		{"outcome", `"outcome":"healing"`, `"outcome":"better"`, `recalls[0].outcome: unknown outcome "better"; write "healed", "healing" or "not healed"`},
		{"next recall", `2027-01-31`, `next year`, `recalls[0].next: "next year" is no date`},
		{"NaN", `"angle_deg":20`, `"angle_deg":NaN`, `marks file: not JSON near byte`},
		{"cut", `"2027-01-31"}]}`, `"2027-01-31"`, `marks file: the file ends before its JSON does`},
		{"more after the end", `"2027-01-31"}]}`, `"2027-01-31"}]} {}`, `marks file: there is more after the end`},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(goodMarks, c.from, c.to, 1)
			if text == goodMarks {
				t.Fatalf("%q is not in the marks", c.from)
			}
			_, err := DecodeMarks([]byte(text))
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want %q", err, c.want)
			}
		})
	}
}

func TestDecodeMarksNamesAllProblemsTogether(t *testing.T) {
	text := strings.NewReplacer(`"pai":4`, `"pai":9`, `2026-01-31`, `31.1.2026`, `"angle_deg":20`, `"angle_deg":180`).Replace(goodMarks)
	_, err := DecodeMarks([]byte(text))
	var p Problems
	if !errors.As(err, &p) || len(p) != 3 {
		t.Fatalf("got %d problems: %v; want 3", len(p), err)
	}
}

func TestDeepNestingIsRefused(t *testing.T) {
	_, err := DecodeMarks([]byte(strings.Repeat("[", 100000)))
	if err == nil || !strings.Contains(err.Error(), "nested more than") {
		t.Errorf("error %v", err)
	}
}

func TestDraftsMayBeIncomplete(t *testing.T) {
	text := strings.Replace(goodMarks, `[[50,20],[52,100],[60,200,0.4],[90,300]]`, `[[50,20]]`, 1)
	if _, err := DecodeDraft([]byte(text)); err != nil {
		t.Error(err)
	}
	if _, err := DecodeMarks([]byte(text)); err == nil {
		t.Error("a canal with one mark is complete")
	}
}

func FuzzDecodeMarks(f *testing.F) {
	f.Add([]byte(goodMarks))
	f.Add([]byte(`{"version":1,"images":[{"id":"a","canals":[{"tooth":"46","marks":[[1,1],[1,1],[1,1]]}]}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := DecodeDraft(data)
		if err != nil {
			return
		}
		Compute(m, Given{})
		out, err := json.Marshal(m)
		if err != nil {
			t.Fatalf("%+v can't be written: %v", m, err)
		}
		if _, err := DecodeDraft(out); err != nil {
			t.Fatalf("%s can't be read again: %v", out, err)
		}
	})
}
