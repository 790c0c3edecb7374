package measure

import (
	"math"
	"strconv"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/strides"
)

// book collects the measures of one movement and gives each its name.
type book struct {
	movement *rideplan.Movement
	list     []Measure
	names    map[string]bool
}

// entry is a measure before it has a name and a verdict.
type entry struct {
	what    string // plain name
	letter  string // where, for the later ones of a kind
	value   float64
	parts   []part
	asked   float64
	nominal float64 // 0: the sheet says no number
	at      when
	atM     float64
	kind    string  // key of the tolerance, where it is not what
	slack   float64 // added to the tolerance, where the place itself is not sharp
	bounded string  // set when the value is a bound or else limited: why
}

func (e entry) tolerance() Tolerance {
	t := tolerances[e.what]
	if e.kind != "" {
		t = tolerances[e.kind]
	}
	if e.slack > 0 {
		t.Within += e.slack
		t.Source += "; wider where a bend keeps the plan from changing at the letter itself"
	}
	return t
}

// name gives the first of a kind its plain name, the later ones the letter, and a number
// where even that is taken.
func (b *book) name(what, letter string) string {
	if b.names == nil {
		b.names = map[string]bool{}
	}
	name := what
	if b.names[name] && letter != "" {
		name = what + " " + letter
	}
	for n := 2; b.names[name]; n++ {
		name = what + " " + strconv.Itoa(n)
	}
	b.names[name] = true
	return name
}

// add judges an entry and writes it down.
func (b *book) add(e entry) {
	sigma, largest := sum(e.parts)
	if math.IsNaN(e.value) || math.IsInf(e.value, 0) || math.IsNaN(sigma) || math.IsInf(sigma, 0) {
		b.cannot(e, "the recording fits no "+e.what)
		return
	}
	tol := e.tolerance()
	m := b.blank(e)
	m.Value, m.Sigma = ptr(e.value), ptr(sigma)
	m.Verdict = tol.judge(e.value, sigma, e.asked)
	m.LimitedBy = largest
	if e.bounded != "" {
		m.LimitedBy = e.bounded
	}
	b.list = append(b.list, m)
}

// addBelow is add, and returns the measure when its value is surely below a bound.
func (b *book) addBelow(e entry, bound float64) *Measure {
	b.add(e)
	m := &b.list[len(b.list)-1]
	sd, _ := sum(e.parts)
	if m.Value == nil || !(tail((bound-e.value)/sd) >= sure) {
		return nil
	}
	return m
}

// cannot writes down a measure that the recording cannot show, with the reason.
func (b *book) cannot(e entry, why string) {
	m := b.blank(e)
	m.Verdict, m.LimitedBy = CannotTell, why
	b.list = append(b.list, m)
}

// lacks is cannot for want of something that the recording as a whole does not hold.
func (b *book) lacks(what string, e entry, why string) {
	b.cannot(e, why)
	b.list[len(b.list)-1].Lacks = what
}

// noLead is cannot for a lead that motion data do not tell, by the reason that they give.
func (b *book) noLead(e entry, why string) {
	if why == strides.NoGyroscope {
		b.lacks(LacksGyroscope, e, why)
		return
	}
	b.cannot(e, why)
}

func (b *book) blank(e entry) Measure {
	tol := e.tolerance()
	m := Measure{What: b.name(e.what, e.letter), Unit: tol.Unit, ToleranceSource: tol.Source}
	m.Tolerance, m.Asked = ptr(tol.around(e.asked)), ptr(e.asked)
	if math.IsNaN(e.asked) || math.IsInf(e.asked, 0) {
		m.Asked, m.Tolerance = nil, nil
	}
	if e.nominal != 0 {
		m.Nominal = ptr(e.nominal)
	}
	if e.at.known {
		m.AtS, m.FromS, m.ToS = ptr(e.at.mid), ptr(e.at.from), ptr(e.at.to)
	}
	if e.atM != 0 {
		m.AtM = ptr(e.atM)
	}
	return m
}

// ptr rounds to what is worth storing (a tenth of a millimetre) and returns its address.
func ptr(v float64) *float64 {
	v = math.Round(v*1e4) / 1e4
	if v == 0 {
		v = 0 // no minus zero
	}
	return &v
}
