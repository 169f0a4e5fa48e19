package wording

import "strings"

// labels are the names of findings as shown. What has no entry is shown with
// its underscores turned to spaces.
var labels = map[string]string{
	"eal_difference":                        "apex locator − radiograph",
	"working_length":                        "estimated working length",
	"schneider_angle":                       "curvature (Schneider)",
	"file_length":                           "nearest longer standard file",
	"weine_angle":                           "curvature (Weine)",
	"pruett_angle":                          "curvature (Pruett)",
	"pruett_radius":                         "radius (Pruett)",
	"access_angle":                          "canal access angle",
	"max_curvature":                         "sharpest curvature",
	"curve_start_from_apex":                 "curve starts, from apex",
	"curved_length":                         "length of the curved part",
	"second_angle":                          "second curve, angle",
	"second_radius":                         "second curve, radius",
	"perpendicular_diameter":                "diameter across it",
	"filling_to_apex":                       "filling to apex",
	"obstruction_length":                    "obstruction, length",
	"obstruction_depth":                     "obstruction, depth below the orifice",
	"obstruction_to_apex":                   "obstruction to apex",
	"depth_separation":                      "separation in depth",
	"true_angle":                            "curvature in three dimensions",
	"alignment_residual":                    "residual of the alignment",
	"confluence_from_apex":                  "confluence, from apex",
	"canal_distance":                        "distance between canals",
	"elongation":                            "image longer than the object",
	"used_difference":                       "working length used − estimated",
	"cone_fit_difference":                   "cone fit − working length used",
	"filled_difference":                     "filled length − working length used",
	"max_curvature_from_apex":               "sharpest curvature, from apex",
	"curve_start_from_orifice":              "curve starts, from orifice",
	"contrast":                              "contrast to its surroundings",
	"filling_ratio":                         "filled share of the canal",
	"filling_taper":                         "taper of the filling",
	"void_area":                             "voids, area",
	"void_count":                            "voids, number",
	"post_to_root":                          "post to root length",
	"post_to_crown":                         "post to crown height",
	"apical_seal":                           "root filling left below the post",
	"straight_to_obstruction":               "straight access beyond the obstruction",
	"obstruction_to_canal":                  "obstruction to the next canal",
	"dentine":                               "dentine beside the obstruction",
	"area_change":                           "change of area",
	"area_change_percent":                   "change of area, per cent of the first",
	"area_change_per_year":                  "change of area, a year",
	"area_change_detectable":                "change of area, smallest that would be seen",
	"diameter_change":                       "change of the longest diameter",
	"diameter_change_percent":               "change of the longest diameter, per cent of the first",
	"diameter_change_per_year":              "change of the longest diameter, a year",
	"diameter_change_detectable":            "change of the longest diameter, smallest that would be seen",
	"equivalent_diameter_change":            "change of the equivalent diameter",
	"equivalent_diameter_change_percent":    "change of the equivalent diameter, per cent of the first",
	"equivalent_diameter_change_per_year":   "change of the equivalent diameter, a year",
	"equivalent_diameter_change_detectable": "change of the equivalent diameter, smallest that would be seen",
	"volume_change":                         "change of volume",
	"volume_change_percent":                 "change of volume, per cent of the first",
	"volume_change_per_year":                "change of volume, a year",
	"volume_change_detectable":              "change of volume, smallest that would be seen",
	"length_change":                         "change of length",
	"length_change_percent":                 "change of length, per cent of the first",
	"length_change_per_year":                "change of length, a year",
	"length_change_detectable":              "change of length, smallest that would be seen",
	"filling_change":                        "change of filling to apex",
	"filling_change_per_year":               "change of filling to apex, a year",
	"filling_change_detectable":             "change of filling to apex, smallest that would be seen",
}

// Label returns the name of a kind of finding as shown. Findings of one kind
// that are numbered, such as dentine_2, keep their number.
func Label(what string) string {
	if s, ok := labels[what]; ok {
		return translate(s)
	}
	if i := strings.LastIndexByte(what, '_'); i > 0 {
		if s, ok := labels[what[:i]]; ok {
			return translate(s) + " " + what[i+1:]
		}
	}
	return translate(strings.ReplaceAll(what, "_", " "))
}
