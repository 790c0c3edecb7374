package report

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"sync"

	"ringcraft/internal/gait"
	"ringcraft/internal/judging"
	"ringcraft/internal/rideplan"
)

// CallOptions choose how a test is called. Zero fields take the defaults of caller.json.
type CallOptions struct {
	LeadS     *float64 // seconds between the end of a call and its movement
	WordsPerS float64  // reading speed
	// Allowed says whether the rule set lets this test be called at a show; Why is what the
	// rule set says about it (CallingUnder).
	Allowed bool
	Why     string
	// Own are words of one's own by movement number. They make the script one for training:
	// at a show only the words of the sheet may be read.
	Own map[int]string
}

// CallScript is the JSON of `sheet call` (docs/JSON.md). Times count from A.
type CallScript struct {
	Schema    string   `json:"schema"` // "ringcraft.call/1"
	Sheet     string   `json:"sheet"`
	Allowed   bool     `json:"allowed"`
	Training  bool     `json:"training,omitempty"` // holds words that are not the sheet's
	Why       string   `json:"why"`
	LeadS     float64  `json:"lead_s"`
	WordsPerS float64  `json:"words_per_s"`
	TotalS    float64  `json:"total_s"`
	Calls     []Call   `json:"calls"`
	Notes     []string `json:"notes"`
}

// Call is one call: the sheet's own words for one movement or for two joined ones.
type Call struct {
	Movements []int   `json:"movements"`
	Words     string  `json:"words"`
	SpeakS    float64 `json:"speak_s"`  // when to begin to speak; negative: before the entry
	EndS      float64 `json:"end_s"`    // when the last word ends
	BeginsS   float64 `json:"begins_s"` // when the (first) movement begins
	LeadS     float64 `json:"lead_s"`   // BeginsS - EndS; less than asked where there is no time
	Letter    string  `json:"letter"`   // nearest letter to the rider when the call begins
	SpeakM    float64 `json:"speak_m"`  // where along the line the rider is then
	Tight     bool    `json:"tight"`    // the chosen lead could not be kept
}

type callDefault struct {
	Value  float64 `json:"value"`
	Source string  `json:"source"`
}

type callDefaults struct {
	Lead  callDefault `json:"lead_s"`
	Speed callDefault `json:"words_per_s"`
	Gap   callDefault `json:"gap_s"`
	Short callDefault `json:"short_s"`
	Ahead callDefault `json:"ahead"`
}

//go:embed caller.json
var callerJSON []byte

var callerDefaults = sync.OnceValue(func() callDefaults {
	var d callDefaults
	if err := json.Unmarshal(callerJSON, &d); err != nil {
		panic("report: caller.json: " + err.Error()) // embedded; a test reads it
	}
	return d
})

// Caller makes the script of a plan. Every movement is called once, in riding order, with
// the sheet's own words; two short linked movements share a call; while a call is spoken no
// more than two movements are announced that have not begun. Where the words take longer
// than the riding leaves, the call is marked tight and says what lead is left.
func Caller(p *rideplan.Plan, o CallOptions) CallScript {
	d := callerDefaults()
	c := caller{plan: p, lead: d.Lead.Value, speed: d.Speed.Value, gap: d.Gap.Value, short: d.Short.Value, ahead: int(d.Ahead.Value), own: o.Own}
	if o.LeadS != nil && *o.LeadS >= 0 {
		c.lead = math.Min(*o.LeadS, 20)
	}
	if o.WordsPerS > 0 {
		c.speed = math.Min(math.Max(o.WordsPerS, 1), 5)
	}
	s := CallScript{Schema: "ringcraft.call/1", Sheet: p.Name, Allowed: o.Allowed, Why: o.Why, LeadS: c.lead, WordsPerS: c.speed,
		TotalS: round(float64(p.Total), 2), Calls: []Call{}, Notes: []string{}}
	c.script()
	s.Calls = append(s.Calls, c.calls...)
	if f := FaultWords(p); f != "" {
		s.Notes = append(s.Notes, f)
	}
	if !o.Allowed {
		s.Notes = append(s.Notes, "The rules do not say that this test may be called at a show: ask first, or use the script at home only.")
	}
	if c.ownUsed() {
		s.Training, s.Allowed = true, false
		s.Notes = append(s.Notes, "Words of one's own: for training only. At a show only the words of the sheet may be read, each once.")
	}
	if n := c.tight(); n > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("%s not end %s s before the movement: there is no time for the words. A shorter lead or faster reading helps.",
			plural(n, "call does", "calls do"), decimals(c.lead, 1)))
	}
	return s
}

// CallingUnder reads what a rule set says about reading the test aloud; nil says nothing.
func CallingUnder(r *judging.Rules) (allowed bool, why string) {
	if r == nil || r.Calling == "" {
		return false, "no rule set given"
	}
	return strings.HasPrefix(r.Calling, "allowed"), r.Name + ": " + r.Calling
}

type caller struct {
	plan             *rideplan.Plan
	lead, speed, gap float64
	short            float64
	ahead            int
	own              map[int]string
	calls            []Call
}

func (c *caller) script() {
	ms := c.plan.Movements
	for i := 0; i < len(ms); {
		n := 1
		if i+1 < len(ms) && c.joined(i) {
			n = 2
		}
		c.add(i, n)
		i += n
	}
}

// joined reports whether movements i and i+1 share a call: movement i is short, or the call
// of its own for i+1 would have to begin before that of i has ended.
func (c *caller) joined(i int) bool {
	ms := c.plan.Movements
	if c.outstanding(float64(ms[i].StartS)-c.lead-c.time(i)-c.time(i+1)) > c.ahead-2 {
		return false
	}
	room := float64(ms[i+1].StartS - ms[i].StartS)
	return room < c.short || room < c.time(i+1)+c.gap
}

// time is how long the words of movement i take, in seconds.
func (c *caller) time(i int) float64 {
	return float64(len(strings.Fields(c.words(i)))) / c.speed
}

// words are what is called for movement i.
func (c *caller) words(i int) string {
	if own := strings.TrimSpace(c.own[c.plan.Movements[i].Number]); own != "" {
		return own
	}
	return CallWords(&c.plan.Movements[i])
}

func (c *caller) ownUsed() bool {
	for i := range c.plan.Movements {
		if c.words(i) != CallWords(&c.plan.Movements[i]) {
			return true
		}
	}
	return false
}

// outstanding counts the movements that are announced at time t and have not begun.
func (c *caller) outstanding(t float64) int {
	n := 0
	for _, call := range c.calls {
		for _, num := range call.Movements {
			if m := c.plan.MovementByNumber(num); m != nil && float64(m.StartS) > t+1e-9 {
				n++
			}
		}
	}
	return n
}

func (c *caller) add(i, n int) {
	ms := c.plan.Movements
	words, need := "", 0.0
	call := Call{}
	for k := i; k < i+n; k++ {
		if words != "" {
			words += " — "
		}
		words += c.words(k)
		need += c.time(k)
		call.Movements = append(call.Movements, ms[k].Number)
	}
	begins := float64(ms[i].StartS)
	speak := begins - c.lead - need
	if k := len(c.calls); k > 0 {
		speak = math.Max(speak, c.calls[k-1].EndS+c.gap)
	}
	speak = c.afterBegun(speak, c.ahead-n)
	at := c.plan.SampleAt(gait.Seconds(speak))
	call.Words, call.SpeakS, call.EndS, call.BeginsS = words, round(speak, 2), round(speak+need, 2), round(begins, 2)
	call.LeadS = round(begins-speak-need, 2)
	call.Tight = call.LeadS < c.lead-0.011
	call.SpeakM = round(float64(at.M), 1)
	if c.plan.Board != nil {
		call.Letter, _ = c.plan.Board.NearestLetter(at.Point)
	}
	c.calls = append(c.calls, call)
}

// afterBegun moves t on until at most most announced movements have not begun.
func (c *caller) afterBegun(t float64, most int) float64 {
	for c.outstanding(t) > max(most, 0) {
		next := math.Inf(1)
		for i := range c.plan.Movements {
			if s := float64(c.plan.Movements[i].StartS); s > t+1e-9 && s < next {
				next = s
			}
		}
		if math.IsInf(next, 1) {
			return t
		}
		t = next
	}
	return t
}

func (c *caller) tight() int {
	n := 0
	for _, call := range c.calls {
		if call.Tight {
			n++
		}
	}
	return n
}

// CallWords are the sheet's own words of a movement, letters before wording, part by part.
func CallWords(m *rideplan.Movement) string {
	if m.Words != "" {
		return m.Words
	}
	return partWords(m.Letters, m.Text)
}

// partWords pairs the parts of letters and text, which are joined by "; ".
func partWords(lettersList, textList string) string {
	letters, texts := strings.Split(lettersList, "; "), strings.Split(textList, "; ")
	if len(letters) != len(texts) {
		return strings.TrimSpace(strings.Trim(lettersList, "; ") + " " + textList)
	}
	parts := make([]string, len(letters))
	for i := range letters {
		parts[i] = strings.TrimSpace(strings.TrimSpace(letters[i]) + " " + strings.TrimSpace(texts[i]))
	}
	return strings.Join(parts, "; ")
}
