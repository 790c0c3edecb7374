package web

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// remarksRoutes are the addresses of putting a ride's remarks in order.
func remarksRoutes() []Route {
	return []Route{
		{"GET", "/rides/{id}/remarks", access.TrainerDo, nil, lastingPage(reckoning, (*server).remarks)},
		{"POST", "/rides/{id}/remarks", access.TrainerDo, nil, (*server).remarksMove},
		{"POST", "/rides/{id}/wording", access.TrainerDo, nil, (*server).remarksWord},
	}
}

// remarksView lists a ride's remarks: the doubtful ones, then those of each movement, then those of
// none.
type remarksView struct {
	page
	Review   *logbook.Review
	Spoken   []logbook.Spoken
	Boxes    []remarkBox
	Message  string
	Open     int             // index of the remark whose form is shown with Message; -1 for none
	Unkept   logbook.Wording // what was typed and could not be kept
	Doubtful int
}

// remarkBox is a movement with its remarks; number 0 is where remarks of no movement lie.
type remarkBox struct {
	Number  int
	Letters string
	Text    string
	Spoken  []logbook.Spoken
}

func (s *server) remarks(w http.ResponseWriter, r *http.Request) error {
	return s.remarksPage(w, r, http.StatusOK, remarksView{Open: -1})
}

func (s *server) remarksPage(w http.ResponseWriter, r *http.Request, status int, v remarksView) error {
	rev, err := s.book.ReviewOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	if v.Spoken, err = s.book.SpokenOf(r.Context(), rev); err != nil {
		return err
	}
	v.page = s.newPage(r, "yard", "Remarks of "+rev.Title())
	v.Review, v.Back, v.Scripts = rev, &link{"/rides/" + rev.Ride.ID, rev.Title()}, []string{"remarks.js"}
	v.Invented, v.Simulated = rev.Pair.Invented(), rev.Ride.Simulated
	v.Boxes = boxesOf(rev.Plan, v.Spoken)
	for _, k := range v.Spoken {
		if k.Doubtful {
			v.Doubtful++
		}
	}
	return s.render(w, r, status, remarksTemplate(v))
}

// boxesOf lays remarks under their movements, in the order of the sheet.
func boxesOf(p *logbook.Plan, spoken []logbook.Spoken) []remarkBox {
	boxes := make([]remarkBox, 0, len(p.Movements)+1)
	for _, m := range p.Movements {
		boxes = append(boxes, remarkBox{Number: m.Number, Letters: m.Letters, Text: m.Text})
	}
	boxes = append(boxes, remarkBox{Text: "Of no movement: talk, lesson, or another ride"})
	for _, k := range spoken {
		i := slices.IndexFunc(boxes, func(b remarkBox) bool { return b.Number == k.Movement })
		if i < 0 {
			i = len(boxes) - 1
		}
		boxes[i].Spoken = append(boxes[i].Spoken, k)
	}
	return boxes
}

// doubtful are the remarks to look at first, least sure first.
func (v remarksView) doubtful() []logbook.Spoken {
	var out []logbook.Spoken
	for _, k := range v.Spoken {
		if k.Doubtful {
			out = append(out, k)
		}
	}
	slices.SortStableFunc(out, func(a, b logbook.Spoken) int { return cmp.Compare(a.Confidence, b.Confidence) })
	return out
}

// readRemark takes which remark a form is about.
func readRemark(f url.Values) (logbook.Correction, int, error) {
	at, err := strconv.ParseFloat(f.Get("at"), 64)
	if err != nil {
		return logbook.Correction{}, -1, logbook.Errorf(logbook.Invalid, "the form does not say which remark it is about; look at the page again")
	}
	i, err := strconv.Atoi(f.Get("index"))
	if err != nil {
		i = -1
	}
	return logbook.Correction{Said: f.Get("said"), AtS: at}, i, nil
}

// remarksMove ties a remark to another movement, or to none.
func (s *server) remarksMove(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	c, i, err := readRemark(r.PostForm)
	if err != nil {
		return err
	}
	to, err := strconv.Atoi(r.PostForm.Get("to"))
	if err != nil {
		return s.remarksPage(w, r, http.StatusUnprocessableEntity, remarksView{Open: i, Message: "Choose the movement it belongs to, or none."})
	}
	c.Movement = &to
	return s.corrected(w, r, c, i)
}

// remarksWord keeps how a rider reads a remark, or takes it back.
func (s *server) remarksWord(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	f := r.PostForm
	c, i, err := readRemark(f)
	if err != nil {
		return err
	}
	if c.Plain = f.Get("then") == "back"; !c.Plain {
		movement, _ := strconv.Atoi(f.Get("movement")) // no number: no movement, and so its place is said anew
		c.Wording = &logbook.Wording{Movement: movement, Seen: f.Get("seen"), Where: f.Get("where"), Do: f.Get("do")}
	}
	return s.corrected(w, r, c, i)
}

// corrected writes a correction down and goes back to the remark.
func (s *server) corrected(w http.ResponseWriter, r *http.Request, c logbook.Correction, i int) error {
	err := s.book.CorrectRemark(r.Context(), r.PathValue("id"), c)
	switch code := logbook.CodeOf(err); code {
	case "":
		http.Redirect(w, r, fmt.Sprintf("/rides/%s/remarks#r%d", r.PathValue("id"), i), http.StatusSeeOther)
		return nil
	case logbook.Invalid, logbook.Conflict:
		v := remarksView{Open: i, Message: logbook.MessageOf(err)}
		if c.Wording != nil {
			v.Unkept = *c.Wording
		}
		return s.remarksPage(w, r, statusOf(code), v)
	}
	return err
}

// wordsForRider are the wordings the trainer kept, for the rider's report.
func (s *server) wordsForRider(r *http.Request, rev *logbook.Review) ([]logbook.Wording, error) {
	spoken, err := s.book.SpokenOf(r.Context(), rev)
	var out []logbook.Wording
	for _, k := range spoken {
		if k.Kept {
			out = append(out, k.Wording)
		}
	}
	return out, err
}

// shown is the wording a remark's form shows: what was typed and refused comes back.
func (v remarksView) shown(k logbook.Spoken) logbook.Wording {
	if v.Open == k.Index && v.Message != "" && v.Unkept != (logbook.Wording{}) {
		return v.Unkept
	}
	return k.Wording
}

// sureWords says how sure the placing of a remark is, and why.
func sureWords(k logbook.Spoken) string {
	if k.Moved {
		return k.Why
	}
	out := fmt.Sprintf("%.0f %% sure", 100*k.Confidence)
	if k.Why != "" {
		out += ": " + k.Why
	}
	return out
}

// atOf is a remark's time as its form sends it.
func atOf(k logbook.Spoken) string { return strconv.FormatFloat(k.AtS, 'f', -1, 64) }

// boxName names a movement in a list.
func boxName(b remarkBox) string {
	if b.Number == 0 {
		return "no movement"
	}
	if b.Letters != "" {
		return fmt.Sprintf("%d, %s: %s", b.Number, b.Letters, b.Text)
	}
	return fmt.Sprintf("%d: %s", b.Number, b.Text)
}

// placeWords says where a remark was put.
func placeWords(k logbook.Spoken) string {
	if k.Movement == 0 {
		return "in no movement"
	}
	return fmt.Sprintf("in movement %d", k.Movement)
}

// remarksLead says how many remarks there are and how many need a look.
func remarksLead(v remarksView) string {
	out := plural(len(v.Spoken), "remark", "remarks") + ", "
	switch v.Doubtful {
	case 0:
		return out + "none of them doubtful."
	case 1:
		return out + "1 of them doubtful."
	}
	return out + fmt.Sprintf("%d of them doubtful.", v.Doubtful)
}
