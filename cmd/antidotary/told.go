package main

import (
	"fmt"
	"io"

	"antidotary/notify/words"
)

// telling is an answer that can say that nobody is told: nearly all are, see
// answer.Telling.
type telling interface {
	SetNobodyTold()
	SaysNobodyTold() bool
}

// say prints a sentence that is no answer. In a house without mail it says so
// too.
func (a *app) say(format string, args ...any) error {
	off, err := a.mailOff()
	if err != nil {
		return err
	}
	text := fmt.Sprintf(format, args...)
	if off {
		text += words.NobodyTold + "\n"
	}
	_, err = io.WriteString(a.out, text)
	return err
}
