package prepare

import _ "embed"

//go:embed care.json
var careJSON []byte

var careWords = mustLoad[struct {
	Always                   []string
	Heat, Young, Unfit, Show string
}](careJSON, "care.json")

// lessonCautions are the usual cautions and those of this horse and day.
func lessonCautions(in LessonInput) []string {
	out := append([]string{}, careWords.Always...)
	if in.Weather != nil && HeatIndex(*in.Weather) >= lessonRules.Heat[len(lessonRules.Heat)-1].From {
		out = append(out, careWords.Heat)
	}
	if in.Horse.AgeYears > 0 && in.Horse.AgeYears < 6 {
		out = append(out, careWords.Young)
	}
	if lower(in.Horse.Fitness) == "unfit" {
		out = append(out, careWords.Unfit)
	}
	return out
}
