package measure

// FindingsVersion is the version of the findings file.
const FindingsVersion = 1

// FindingsFile is the JSON form of findings, version 1.
type FindingsFile struct {
	Version  int             `json:"version"`
	Findings []FindingRecord `json:"findings"`
}

// FindingRecord is one finding in a [FindingsFile]. Value and StdUnc are null
// when the finding is undefined; Cautions then say why.
type FindingRecord struct {
	Image    string   `json:"image"`
	Of       string   `json:"of"`
	What     string   `json:"what"`
	Value    *float64 `json:"value"`
	StdUnc   *float64 `json:"std_unc"`
	Unit     Unit     `json:"unit"`
	Method   string   `json:"method"`
	Cautions []string `json:"cautions"`
	Verdict  string   `json:"verdict,omitempty"`
}

// EncodeFindings turns findings into the form that encoding/json writes as a
// findings file.
func EncodeFindings(findings []Finding) FindingsFile {
	file := FindingsFile{FindingsVersion, make([]FindingRecord, len(findings))}
	for i, f := range findings {
		r := FindingRecord{Image: f.Image, Of: f.Of, What: f.What, Unit: f.Unit, Method: f.Method, Cautions: f.Cautions, Verdict: f.Verdict}
		if r.Cautions == nil {
			r.Cautions = []string{}
		}
		if f.Defined() {
			r.Value, r.StdUnc = &f.Value, &f.StdUnc
		}
		file.Findings[i] = r
	}
	return file
}
