package prepare

import "sort"

// Task is one exercise for the rider to do alone, with what right looks like.
type Task struct {
	Exercise string   `json:"exercise"`
	Title    string   `json:"title"`
	Why      string   `json:"why"`
	Right    []string `json:"right"` // what right looks and feels like
	Watch    []string `json:"watch"` // usual faults
	HowOften string   `json:"how_often"`
	Sheet    string   `json:"sheet"`
	Stop     string   `json:"stop"`
}

// mostTasks: more than three things are not done.
const mostTasks = 3

// Homework takes at most three of the lesson's exercises, those that bring most, and only
// what the horse's level allows without the trainer.
func Homework(in LessonInput, ps []picked) []Task {
	best := append([]picked(nil), ps...)
	sort.SliceStable(best, func(i, j int) bool { return best[i].percent > best[j].percent })
	out := []Task{}
	b := layer{in: in}
	for _, p := range best {
		e := p.exercise
		if len(out) == mostTasks || e.WholeTest || LevelOf(e.Level) > lessonLevel(in) {
			continue
		}
		rein := "both"
		if e.OneRein {
			rein = "left"
		}
		params, _ := suited(in, e, p.needs)
		t := Task{Exercise: e.ID, Title: e.Title, Why: e.Purpose, Right: []string{e.Feel, e.See}, Watch: e.UsualFaults, Sheet: b.sheet(e, rein, params),
			HowOften: "three or four days a week, two or three good ones on each rein, then stop",
			Stop:     "stop and ask when the horse is uneven, short of breath, or upset"}
		for _, n := range p.needs[:min(1, len(p.needs))] {
			t.Why += " " + upperFirst(needWords(n)) + "."
		}
		out = append(out, t)
	}
	return out
}
