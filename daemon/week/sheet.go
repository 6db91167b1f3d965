package week

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io"

	"antidotary/notify/words"
)

//go:embed sheet.html
var sheets embed.FS

var sheet = template.Must(template.New("sheet.html").Funcs(template.FuncMap{
	"day": words.Day, "relative": words.Relative, "standing": words.Standing, "layer": words.Layer, "severity": words.Severity,
	"capital": words.Capital, "role": words.Role, "count": words.Count, "owners": Owners,
	"caution": func() string { return words.Caution }, "nobody": func() string { return words.NobodyTold },
	"facts": func(all []string) []string { return all[:min(mostFacts, len(all))] },
	"more":  func(all []string) int { return max(0, len(all)-mostFacts) },
	"task":  func(t Task, w *Week) sheetTask { return sheetTask{&t, w} },
	"group": func(list []Task, w *Week) sheetTasks { return sheetTasks{list, w} },
}).ParseFS(sheets, "sheet.html"))

// mostFacts bounds the facts of a task on paper, where room is dear. (Design
// of this project, no source.)
const mostFacts = 2

// sheetTask is a task with the week that it stands in, and sheetTasks are some.
type (
	sheetTask struct {
		*Task
		Week *Week
	}
	sheetTasks struct {
		Tasks []Task
		Week  *Week
	}
)

// WriteSheet writes the week as one HTML file to print on A4: it needs nothing
// else, runs nothing and loads nothing.
func (w *Week) WriteSheet(out io.Writer) error {
	var page bytes.Buffer
	if err := sheet.Execute(&page, w); err != nil {
		return fmt.Errorf("write the week sheet: %w", err)
	}
	_, err := page.WriteTo(out)
	return err
}

// MadeAt says when the week was made, in the house's time.
func (w *Week) MadeAt() string {
	at := w.At.In(w.Zone)
	return at.Format("Mon 2 Jan 2006, 15:04 MST (-07:00)")
}

// State names the state of the records.
func (w *Week) State() string {
	if w.Entry == 0 {
		return "no journal (invented records, or none yet)"
	}
	return fmt.Sprintf("journal entry %d", w.Entry)
}
