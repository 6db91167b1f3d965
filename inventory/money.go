package inventory

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"golang.org/x/text/currency"
)

// CheckCurrency refuses what is no ISO 4217 code.
func CheckCurrency(field, code string) error {
	if unit, err := currency.ParseISO(code); err == nil && unit.String() == code {
		return nil
	}
	return &FieldError{Field: field, Problem: fmt.Sprintf("%q is no currency: write its three capital letters by ISO 4217, such as GBP", code)}
}

// minorDigits gives how many digits the minor unit of a currency has: 2 for
// GBP, 0 for JPY (ISO 4217, by the tables of golang.org/x/text/currency).
func minorDigits(unit currency.Unit) int {
	scale, _ := currency.Standard.Rounding(unit)
	return scale
}

var amount = regexp.MustCompile(`^([0-9]{1,12})(?:\.([0-9]{1,4}))?$`)

// ParseMoney reads an amount with its currency, such as "2350.00 GBP", as
// minor units. The decimal sign is a point, and there is none between
// thousands. It refuses more decimals than the currency has.
func ParseMoney(text string) (minor int, code string, err error) {
	parts := strings.Fields(text)
	if len(parts) != 2 {
		return 0, "", fmt.Errorf("%q is no amount of money: write it with its currency, such as 2350.00 GBP", text)
	}
	code = strings.ToUpper(parts[1])
	unit, err := currency.ParseISO(code)
	if err != nil {
		return 0, "", fmt.Errorf("%q is no currency: write its three letters by ISO 4217, such as GBP", parts[1])
	}
	m, digits := amount.FindStringSubmatch(parts[0]), minorDigits(unit)
	if m == nil || len(m[2]) > digits {
		return 0, "", fmt.Errorf("%q is no amount in %s: write digits with a point before at most %d decimals, and no sign between thousands", parts[0], code, digits)
	}
	minor, err = strconv.Atoi(m[1] + m[2] + strings.Repeat("0", digits-len(m[2])))
	if err != nil {
		return 0, "", fmt.Errorf("read the amount %q: %w", parts[0], err)
	}
	return minor, code, nil
}

// ShowMoney writes minor units of a currency as ParseMoney reads them.
func ShowMoney(minor int, code string) string {
	unit, err := currency.ParseISO(code)
	if err != nil { // records refuse such a code
		return fmt.Sprintf("%d minor units of %s", minor, code)
	}
	digits := minorDigits(unit)
	whole := int(math.Pow10(digits))
	if digits == 0 {
		return fmt.Sprintf("%d %s", minor, code)
	}
	return fmt.Sprintf("%d.%0*d %s", minor/whole, digits, minor%whole, code)
}
