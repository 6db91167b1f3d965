package inventory

import (
	"fmt"

	"antidotary/inventory/day"
)

// Loan is on what terms another house or hospital has vials of a lot. The
// vials themselves are in the movements that carry its number.
type Loan struct {
	Number    int     `json:"number"` // within the lot, from 1
	Borrower  string  `json:"borrower"`
	Approver  ID      `json:"approver,omitzero"` // person of the house
	Physician string  `json:"physician,omitempty"`
	Purpose   string  `json:"purpose,omitempty"`
	Due       day.Day `json:"due,omitzero"` // the last day to bring them back in time; unset: none agreed
	Terms     string  `json:"terms,omitempty"`
}

func (n Loan) check(number int) error {
	if n.Number != number {
		return &FieldError{Field: "loans", Problem: fmt.Sprintf("must be numbered from 1 without a gap: number %d stands where %d belongs", n.Number, number)}
	}
	for field, text := range map[string]string{"loans.physician": n.Physician, "loans.purpose": n.Purpose, "loans.terms": n.Terms} {
		if err := Plain(field, text); err != nil {
			return err
		}
	}
	return required("loans.borrower", n.Borrower)
}

// checkLoans holds that vials belong to loans that are recorded, and that no
// more come back of one than it lent.
func (l Lot) checkLoans() error {
	var out map[int]int
	for _, m := range l.Movements {
		if m.Loan == 0 {
			continue
		}
		if m.Reason.Against() != AtBorrower || m.Loan < 0 || m.Loan > len(l.Loans) {
			return &FieldError{Field: "movements.loan", Problem: fmt.Sprintf("names loan %d, which is not recorded or not for this reason", m.Loan)}
		}
		if out == nil {
			out = make(map[int]int)
		}
		if out[m.Loan] -= m.Vials; out[m.Loan] < 0 {
			return &FieldError{Field: "movements", Problem: fmt.Sprintf("bring back more of loan %d than it lent, on %s", m.Loan, m.On)}
		}
	}
	return nil
}

// Outstanding gives how many vials of a loan are out at the end of a day; of 0
// those of which no terms are recorded.
func (l Lot) Outstanding(loan int, on day.Day) (vials int) {
	for _, m := range l.Movements {
		if m.Loan == loan && m.On <= on && m.Reason.Against() == AtBorrower {
			vials -= m.Vials
		}
	}
	return vials
}

// DueBack gives the vials of loans that are planned to be back on each day:
// those that are out today, from the day on which they are due, while the lot
// is in date and not held as a whole. Loans that are overdue today, and those
// without a due day, never count.
func (l Lot) DueBack(today day.Day) day.Line[int] {
	back := day.Constant(0)
	for _, n := range l.Loans {
		if n.Due.IsZero() || n.Due < today {
			continue
		}
		if vials := l.Outstanding(n.Number, today); vials > 0 {
			back = day.Combine(back, day.Steps(0, day.Change[int]{On: n.Due, To: vials}), func(a, b int) int { return a + b })
		}
	}
	if back.Always(0) {
		return back
	}
	return day.Combine(back, l.fit(), func(vials int, fit Tri) int {
		if fit != Yes {
			return 0
		}
		return vials
	})
}
