package answer

// Telling says whether anybody is told. Answers embed it, so that a house
// without mail says so whatever it is asked: in JSON as "nobody_told", on a
// terminal as words.NobodyTold.
type Telling struct {
	NobodyTold bool `json:"nobody_told"` // the house sends no mail
}

// SetNobodyTold notes that the configuration sends no mail.
func (t *Telling) SetNobodyTold() { t.NobodyTold = true }

// SaysNobodyTold says whether the answer must say that nobody is told.
func (t *Telling) SaysNobodyTold() bool { return t.NobodyTold }

// SetNobodyTold notes that the configuration sends no mail. Today's says
// nothing of an answer as of a past instant.
func (c *Check) SetNobodyTold() { c.NobodyTold = c.NobodyTold || c.Known == nil }

// SaysNobodyTold says whether the answer must say that nobody is told.
func (c *Check) SaysNobodyTold() bool { return c.NobodyTold }

// SetNobodyTold notes that the configuration sends no mail.
func (a *Ahead) SetNobodyTold() { a.NobodyTold = true }

// SaysNobodyTold says whether the answer must say that nobody is told.
func (a *Ahead) SaysNobodyTold() bool { return a.NobodyTold }
