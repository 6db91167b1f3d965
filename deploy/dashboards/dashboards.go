// Package dashboards writes one dashboard for each of the three who look at
// the watch: the administrator (papers), the curator (animals and antivenom)
// and operations (whether the watch itself lives). They are for Grafana over
// Prometheus; the JSON files beside are what All gives, and a test compares.
//
// The order in which their rules apply: the first row of each says whether
// what stands below is still true and whether anybody is told, because an old
// figure looks like a new one; what is not known says so and is never a zero;
// a zero is shown only where the records were judged; every panel says its
// unit, what it means and what to do; a colour changes where an alert fires;
// figures of several daemons on one database are the same, so max or min is
// taken over instances, never a sum. State is told in words too, not by colour
// alone.
package dashboards

import "fmt"

// The limits of the alert rules (../prometheus/alerts.yaml), in seconds.
const (
	judgedLimit   = 3600
	mailLimit     = 3600
	databaseLimit = 900
	packLimit     = 30 * 86400
)

// All gives the dashboards by the names of their files.
func All() map[string]Dashboard {
	return map[string]Dashboard{"administrator.json": administrator(), "curator.json": curator(), "operations.json": operations()}
}

func dashboard(uid, title, description string, rows ...[]Panel) Dashboard {
	d := Dashboard{Title: title, UID: uid, Description: description, Tags: []string{"antidotary"}, SchemaVersion: 39, Editable: true, Refresh: "1m", Time: span{"now-7d", "now"},
		Templating: templating{[]variable{{"datasource", "Prometheus", "datasource", "prometheus"}}}}
	y := 0
	for _, row := range rows {
		x, h := 0, 0
		for _, p := range row {
			p.ID, p.Grid.X, p.Grid.Y, p.Grid.W = len(d.Panels)+1, x, y, 24/len(row)
			x, h = x+p.Grid.W, max(h, p.Grid.H)
			d.Panels = append(d.Panels, p)
		}
		y += h
	}
	return d
}

func panel(kind, title, unit, description string, h int, queries ...Query) Panel {
	for i := range queries {
		queries[i].Ref = string(rune('A' + i))
	}
	return Panel{Type: kind, Title: title, Description: description, Source: source{"prometheus", "${datasource}"}, Grid: grid{H: h}, Targets: queries,
		Fields: fields{Defaults: fieldDefaults{Unit: unit, NoValue: "NOT KNOWN", Mappings: []mapping{}, Thresholds: thresholds{"absolute", []step{{"text", nil}}}}, Overrides: []struct{}{}}}
}

// figure is one number, or one for each legend.
func figure(title, unit, description, expr, legend string) Panel {
	p := panel("stat", title, unit, description, 4, Query{Expr: expr, Legend: legend, Instant: true, Format: "time_series"})
	p.Options = options{ReduceOptions: &reduce{[]string{"lastNotNull"}}, ColorMode: "background", TextMode: "value_and_name"}
	return p
}

// lines are figures over time.
func lines(title, unit, description string, queries ...Query) Panel {
	for i := range queries {
		queries[i].Range, queries[i].Format = true, "time_series"
	}
	return panel("timeseries", title, unit, description, 8, queries...)
}

// table has a row for each series.
func table(title, unit, description, expr string) Panel {
	p := panel("table", title, unit, description, 9, Query{Expr: expr, Instant: true, Format: "table"})
	p.Options = options{ShowHeader: true}
	return p
}

// from colours a panel red from a value on.
func (p Panel) from(red float64) Panel {
	p.Fields.Defaults.Thresholds.Steps = []step{{"green", nil}, {"red", &red}}
	return p
}

// below colours a panel red below a value.
func (p Panel) below(red float64) Panel {
	p.Fields.Defaults.Thresholds.Steps = []step{{"red", nil}, {"green", &red}}
	return p
}

// empty says what it means that there is nothing to show.
func (p Panel) empty(text string) Panel {
	p.Fields.Defaults.NoValue, p.mayBeEmpty = text, true
	return p
}

// words shows words for values.
func (p Panel) words(of map[string]string) Panel {
	m := mapping{"value", make(map[string]meaning)}
	for value, text := range of {
		m.Options[value] = meaning{Text: text}
	}
	p.Fields.Defaults.Mappings = []mapping{m}
	return p
}

// known makes nothing a zero where, and only where, the records were judged.
func known(expr string) string {
	return expr + ` or 0 * max(antidotary_judged_timestamp_seconds)`
}

// first is the first row of each dashboard.
func first() []Panel {
	return []Panel{
		figure("How old is what you see?", "s", "Seconds since the records were last judged. Over an hour nothing below is known to be so still: tell operations, and go by the binder. Runbook: AntidotaryJudgedStale.",
			`time() - max(antidotary_judged_timestamp_seconds)`, "").from(judgedLimit),
		figure("Sweep: share of the time allowed", "percentunit", "Time since the last good sweep, as a share of two of its intervals and five minutes. At 100 % nobody has been told of anything new for too long. Runbook: AntidotarySweepLate.",
			allowed(`task="sweep"`), "").from(1),
		figure("Is anybody told?", "none", "0: mail leaves. Above: mail is held, or this house sends none, and nobody is told of what stands below. Tell people yourself; antidotary outbox says why. Runbook: AntidotaryMailHeld.",
			`max(antidotary_mail_held) + 2 * max(antidotary_nobody_told)`, "").from(1).
			words(map[string]string{"0": "people are told", "1": "NO: mail is held", "2": "NO: no mail is sent", "3": "NO: no mail is sent"}),
	}
}

// allowed is the time since a job ended well, as a share of what is allowed.
func allowed(which string) string {
	return fmt.Sprintf(`(time() - max by (task) (antidotary_job_last_success_timestamp_seconds{%s})) / (2 * max by (task) (antidotary_job_interval_seconds{%s}) + 300)`, which, which)
}

// count is the number of duties of a role in a standing.
func count(owner, standing string) string {
	return known(fmt.Sprintf(`sum(max by (requirement, severity) (antidotary_findings{owner=%q, standing=%q}))`, owner, standing))
}

// mine is the row of what a role must do.
func mine(owner string) []Panel {
	return []Panel{
		figure("Yours: out of order", "none", "Duties that are out of order and whose step is yours. Do the step that antidotary check names, and record it.", count(owner, "out_of_order"), "").from(1),
		figure("Yours: cannot be told", "none", "Duties that cannot be told for want of a record or a confirmed list, and whose step is yours. Unknown is not in order: record what is so.", count(owner, "cannot_tell"), "").from(1),
		figure("Yours: overdue steps", "none", "Steps of yours whose last day for acting in time is over. Do them now, or record that they were done. Runbook: AntidotaryStepOverdue.",
			known(fmt.Sprintf(`sum(max by (severity) (antidotary_overdue_steps{owner=%q}))`, owner)), "").from(1),
		figure("Yours: due soon", "none", "Duties that are in order and need a step of yours soon. antidotary ahead lists what comes when.", count(owner, "in_order"), ""),
	}
}

// actBy is when a role must act next.
func actBy(owner string) Panel {
	return figure("Yours: act by", "dateTimeAsIso", "The end of the earliest act-by day of yours that is still to come, by severity; not the day on which a paper or a lot ends. Act before it. No date: no step of yours is ahead, or nothing is known (see the first row).",
		fmt.Sprintf(`1000 * min by (severity) (antidotary_act_by_timestamp_seconds{owner=%q})`, owner), "{{severity}}").empty("no step ahead, or not known")
}

// found is a table of what needs somebody.
func found(title, description, selector string) Panel {
	return table(title, "none", description, fmt.Sprintf(`max by (requirement, standing, severity, owner) (antidotary_findings{%s})`, selector))
}

const everything = "What needs somebody, whoever must act: number of duties by requirement, standing, severity and role. Packs of your own name their own requirements; here is every one. antidotary check names subjects, rules and steps."

// standing is how many duties were in which standing.
func standing() Panel {
	return lines("Out of order, and cannot be told", "none", "Number of duties of the whole house in these standings over time. A gap: nothing was known then. A line that rises is a question to whoever owns the steps.",
		Query{Expr: `max by (standing) (antidotary_duties{standing=~"out_of_order|cannot_tell"})`, Legend: "{{standing}}"})
}
