package terms

// Movements says what words point to which kind, pace, size, hand and letter.
type Movements struct {
	Kinds   []KindWords         `json:"kinds"`
	Paces   []PaceWords         `json:"paces"`
	Letters map[string][]string `json:"letters"` // letter -> how it is heard after "at", "to", ...
	// LettersWeak are common words that count as a letter only straight after "at", "past", "between" or "letter".
	LettersWeak []string `json:"letters_weak"`
	// LetterAfter are the words after which a misheard letter counts.
	LetterAfter []string `json:"letter_after"`
	// LookAhead are phrases that say that what follows is still to come.
	LookAhead []string `json:"look_ahead"`
	// LookBack are phrases that say that what is spoken of is over.
	LookBack []string `json:"look_back"`
}

// KindWords are the phrases that name a kind; Also are kinds that people call by the same
// words, with the weight that such a naming carries.
type KindWords struct {
	Kind Kind             `json:"kind"`
	Say  []string         `json:"say"`
	Also map[Kind]float64 `json:"also"`
}

// PaceWords are the phrases that name a pace or one of its varieties.
type PaceWords struct {
	Pace    string   `json:"pace"`    // halt, walk, trot, canter
	Variety string   `json:"variety"` // name in gait's varieties, "" for any of the pace
	Say     []string `json:"say"`
}

// PhaseWords are phrases that tell a test from the talk around it.
type PhaseWords struct {
	Start  []string `json:"start"`  // the ride begins
	Finish []string `json:"finish"` // the ride ends
	Talk   []string `json:"talk"`   // discussion between rides
	Lesson []string `json:"lesson"` // teaching
	Off    []string `json:"off"`    // nothing to do with the ride
	Again  []string `json:"again"`  // the test is ridden once more
	Topic  []string `json:"topic"`  // words of horse, rider and arena: what a remark about a ride is made of
}

// Risk is a way to a zero or a very low mark, how it is heard and what rescues it.
type Risk struct {
	ID     string  `json:"id"`
	Kinds  []Kind  `json:"kinds"`
	Faults []Fault `json:"faults"` // faults that announce it
	Mark   string  `json:"mark"`   // what it brings, in words
	Rescue string  `json:"rescue"`
	Source string  `json:"source"`
}
