package web

import (
	"fmt"
	"strconv"
	"time"

	"github.com/go-analyze/charts"
)

// sheet is how the picture is drawn for one sort of screen. Rows have titles
// and bars their numbers, so that nothing hangs on colour.
type sheet struct {
	width, row int // pixels
	letters    int // of a month's name
	dark       bool
}

var sheets = map[string]sheet{
	"wide-light.svg":   {720, 150, 3, false},
	"wide-dark.svg":    {720, 150, 3, true},
	"narrow-light.svg": {340, 150, 1, false},
	"narrow-dark.svg":  {340, 150, 1, true},
}

var (
	light = palette("#ffffff", "#1c2024", "#8a9098", "#2d5d7b", false)
	dark  = palette("#15181b", "#e8e6e1", "#7d848b", "#8fbcd9", true)
)

func palette(paper, ink, axis, bar string, isDark bool) charts.ColorPalette {
	return charts.MakeTheme(charts.ThemeOption{IsDarkMode: isDark, BackgroundColor: charts.ColorFromHex(paper),
		TextColor: charts.ColorFromHex(ink), TextColorTitle: charts.ColorFromHex(ink), TextColorLabel: charts.ColorFromHex(ink),
		TextColorXAxis: charts.ColorFromHex(ink), AxisStrokeColor: charts.ColorFromHex(axis), SeriesColors: []charts.Color{charts.ColorFromHex(bar)}})
}

// picture draws the months as SVG.
func (m *Months) picture(s sheet) ([]byte, error) {
	theme := light
	if s.dark {
		theme = dark
	}
	p := charts.NewPainter(charts.PainterOptions{OutputFormat: charts.ChartOutputSVG, Width: s.width, Height: s.row * len(series), Theme: theme})
	for i, one := range series {
		values := make([]float64, len(m.Rows))
		for k := range m.Rows {
			values[k] = float64(one.of(&m.Rows[k]))
		}
		box := charts.Box{Top: i * s.row, Right: s.width, Bottom: (i + 1) * s.row, IsSet: true}
		title := one.Title
		if i == 0 {
			title += ", " + m.span()
		}
		if err := p.Child(charts.PainterBoxOption(box)).BarChart(s.bars(title, m, values, theme)); err != nil {
			return nil, fmt.Errorf("draw %s: %w", one.Title, err)
		}
	}
	return p.Bytes()
}

func (s sheet) bars(title string, m *Months, values []float64, theme charts.ColorPalette) charts.BarChartOption {
	o := charts.NewBarChartOptionWithData([][]float64{values})
	o.Theme = theme
	o.Padding = charts.Box{Top: 8, Left: 4, Right: 4, Bottom: 4, IsSet: true}
	o.Title = charts.TitleOption{Text: title, FontStyle: charts.NewFontStyleWithSize(11)}
	o.Legend.Show = charts.Ptr(false)
	o.CategoryAxis.Labels = s.labels(m)
	o.CategoryAxis.LabelCount = len(values)
	o.CategoryAxis.BoundaryGap = charts.Ptr(true)
	o.CategoryAxis.LabelFontStyle = charts.NewFontStyleWithSize(8.5)
	// A month of one duty is a low bar, not a full one.
	o.ValueAxis = []charts.ValueAxisOption{{Show: charts.Ptr(false), Min: charts.Ptr(0.0), Max: charts.Ptr(1.2 * max(4, most(values)))}}
	o.SeriesList[0].Label = charts.SeriesLabel{Show: charts.Ptr(true), FontStyle: charts.NewFontStyleWithSize(8.5), ValueFormatter: func(v float64) string {
		return s.number(int(v))
	}}
	return o
}

func most(values []float64) (m float64) {
	for _, v := range values {
		m = max(m, v)
	}
	return m
}

// number writes what a bar stands for; nothing for none. Where there is no
// room for thousands, they are rounded: the table has each number.
func (s sheet) number(n int) string {
	switch {
	case n == 0:
		return ""
	case n >= 1000 && s.letters == 1:
		return strconv.Itoa((n+500)/1000) + "k"
	default:
		return strconv.Itoa(n)
	}
}

// labels are the months' first letters, with the year where it begins if
// there is room.
func (s sheet) labels(m *Months) (out []string) {
	for i := range m.Rows {
		year, month, _ := m.Rows[i].First.Date()
		label := month.String()[:s.letters]
		if month == time.January && s.letters > 1 {
			label = fmt.Sprintf("%s ’%02d", label, year%100)
		}
		out = append(out, label)
	}
	return out
}
