package web

import (
	"fmt"
	"net/http"
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
)

// unseenView asks for marks of movements of two rides in shuffled order, from the recordings,
// without saying which ride a movement is from.
type unseenView struct {
	page
	One, Other string
	Clips      []clipView
	Marked     int
	Message    string
}

// clipView is one movement to mark. Its field is named by its place in the order, not by the
// ride.
type clipView struct {
	Field string
	Text  string
	Line  *draw.Scene
	Mark  string
}

func (s *server) unseen(w http.ResponseWriter, r *http.Request) error {
	c, err := s.book.CompareOf(r.Context(), r.PathValue("one"), r.PathValue("other"))
	if err != nil {
		return err
	}
	return s.unseenForm(w, r, http.StatusOK, c, nil, "")
}

// unseenForm shows the form with the marks that are kept, over them those just typed.
func (s *server) unseenForm(w http.ResponseWriter, r *http.Request, status int, c *logbook.Compared, typed map[string]string, message string) error {
	v := unseenView{page: s.newPage(r, "yard", "Mark again, unseen"), One: c.Before.Ride.ID, Other: c.After.Ride.ID, Message: message}
	v.Invented, v.Simulated = c.Before.Pair.Invented(), c.Comparison.Simulated
	v.Back = &link{"/compare/" + v.One + "/" + v.Other, "The comparison"}
	kept := map[string]map[int]string{}
	for _, rev := range []*logbook.Review{c.Before, c.After} {
		marks, err := s.book.UnseenMarks(r.Context(), rev.Ride.ID)
		if err != nil {
			return err
		}
		kept[rev.Ride.ID] = marks
	}
	for i, k := range s.book.UnseenOrder(c) {
		clip := clipOf(c, k, i)
		clip.Mark = kept[k.RideID][k.Movement]
		if clip.Mark != "" {
			v.Marked++
		}
		if t, ok := typed[clip.Field]; ok {
			clip.Mark = t
		}
		v.Clips = append(v.Clips, clip)
	}
	return s.render(w, r, status, unseenPage(v))
}

func clipOf(c *logbook.Compared, k logbook.Clip, i int) clipView {
	rev := c.Before
	if k.RideID == c.After.Ride.ID {
		rev = c.After
	}
	v := clipView{Field: fmt.Sprintf("clip%d", i+1), Line: draw.Plan(rev.Plan, draw.Options{Movement: k.Movement, Width: 60, Ridden: riddenLine(rev.Line)})}
	if m := rev.Plan.MovementByNumber(k.Movement); m != nil {
		v.Text = strings.TrimSpace(m.Letters + " " + m.Text)
	}
	// The picture must not tell the ride; the sheet's movement is all its title says.
	v.Line.Title, v.Line.Desc = v.Text, ""
	return v
}

func (s *server) unseenSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	c, err := s.book.CompareOf(r.Context(), r.PathValue("one"), r.PathValue("other"))
	if err != nil {
		return err
	}
	marks, typed := map[logbook.Clip]string{}, map[string]string{}
	for i, k := range s.book.UnseenOrder(c) {
		field := fmt.Sprintf("clip%d", i+1)
		if mark := strings.TrimSpace(r.PostForm.Get(field)); mark != "" {
			marks[k], typed[field] = mark, mark
		}
	}
	err = s.book.MarkUnseen(r.Context(), marks)
	switch logbook.CodeOf(err) {
	case "":
		http.Redirect(w, r, "/compare/"+c.Before.Ride.ID+"/"+c.After.Ride.ID, http.StatusSeeOther)
		return nil
	case logbook.Invalid:
		return s.unseenForm(w, r, http.StatusUnprocessableEntity, c, typed, logbook.MessageOf(err))
	}
	return err
}
