package label

import (
	"fmt"
	"strings"
)

// The characters of values. set82 is in the order of their weights in check
// pairs (GS1 General Specifications, by the dictionary's lint_csumalpha).
const (
	digits = "0123456789"
	set82  = `!"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz`
	set39  = "#-/0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
	set32  = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
)

var sets = map[byte]string{'N': digits, 'X': set82, 'Y': set39}

// MayHold says whether a value of an element may hold a text.
func MayHold(text string) bool { return strings.Trim(text, set82) == "" }

// checks are the checks of parts by name. year is the current one.
var checks = map[string]func(text string, year int) error{
	"csum": func(text string, _ int) error { return checkDigit(text) },
	"csumalpha": func(text string, _ int) error {
		if len(text) < 2 || text[len(text)-2:] != checkPair(text[:len(text)-2]) {
			return fmt.Errorf("its two check characters at the end are wrong")
		}
		return nil
	},
	"yymmd0": func(text string, year int) error { _, _, err := date(text, year, true); return err },
	"yymmdd": func(text string, year int) error { _, _, err := date(text, year, false); return err },
	"hhmi": func(text string, _ int) error {
		if text[:2] > "23" || text[2:] > "59" {
			return fmt.Errorf("%s is no time of day: 0000 to 2359 is allowed", text)
		}
		return nil
	},
	"hyphen": func(text string, _ int) error {
		if text != "-" {
			return fmt.Errorf("%q stands where only a minus may", text)
		}
		return nil
	},
	"zero": func(text string, _ int) error {
		if strings.Trim(text, "0") != "" {
			return fmt.Errorf("%q stands where only 0 may", text)
		}
		return nil
	},
	"nozeroprefix": func(text string, _ int) error {
		if text[0] == '0' && text != "0" {
			return fmt.Errorf("it begins with 0, which is not allowed")
		}
		return nil
	},
	"piece": func(text string, _ int) error {
		if text[:2] == "00" || text[:2] > text[2:] {
			return fmt.Errorf("%s is no piece of a total: 0101 to 9999 is allowed, the piece not above the total", text)
		}
		return nil
	},
}

// CheckDigit gives the last digit of a GS1 number from the digits before it:
// the weights are 3, 1, 3 and so on from the right, and the sum with the
// check digit is a multiple of ten (GS1, check digit calculator).
func CheckDigit(before string) (byte, error) {
	if before == "" || strings.Trim(before, digits) != "" {
		return 0, fmt.Errorf("%q is not made of digits", before)
	}
	sum, weight := 0, 3
	for i := len(before) - 1; i >= 0; i-- {
		sum += weight * int(before[i]-'0')
		weight = 4 - weight
	}
	return byte('0' + (10-sum%10)%10), nil
}

func checkDigit(text string) error {
	if len(text) < 2 {
		return fmt.Errorf("%q is too short for a number with a check digit", text)
	}
	want, err := CheckDigit(text[:len(text)-1])
	if err != nil {
		return err
	}
	if got := text[len(text)-1]; got != want {
		return fmt.Errorf("its check digit is %c and must be %c: it was misread or mistyped", got, want)
	}
	return nil
}

// TradeItem reads a trade item number (GTIN) of 8, 12, 13 or 14 digits with
// its check digit, and gives its 14 digits: shorter ones have zeros before
// them (GS1 General Specifications, from memory).
func TradeItem(text string) (string, error) {
	switch len(text) {
	case 8, 12, 13, 14:
	default:
		return "", fmt.Errorf("%q is no trade item number: 8, 12, 13 or 14 digits are needed", text)
	}
	if strings.Trim(text, digits) != "" {
		return "", fmt.Errorf("%q is no trade item number: only digits are allowed", text)
	}
	if err := checkDigit(text); err != nil {
		return "", fmt.Errorf("%q is no trade item number: %w", text, err)
	}
	return strings.Repeat("0", 14-len(text)) + text, nil
}

// primes are the weights of check pairs from the right (lint_csumalpha of the
// dictionary, commit 101d3a46e2f8): as many as a model number is long.
var primes = [...]int{2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83}

// checkPair gives the two check characters of at most 23 characters.
func checkPair(before string) string {
	sum := 0
	for i := range len(before) {
		sum += strings.IndexByte(set82, before[i]) * primes[len(before)-1-i]
	}
	sum %= 1021
	return string([]byte{set32[sum>>5], set32[sum&31]})
}
