package dashboards

func administrator() Dashboard {
	return dashboard("antidotary-administrator", "antidotary: administrator", "Papers: what is overdue, what cannot be told, by when to act, and when the rules themselves must be read again.",
		first(), mine("administrator"),
		[]Panel{
			actBy("administrator"),
			figure("Rules: read again within", "s", "Seconds until a rule pack must be checked against the law in force again; below 30 days it is time, below zero its rules are no longer known to be the law. Read its sources, change the pack, set read_on and review_by. Runbook: AntidotaryPackReviewDue.",
				`min by (pack) (antidotary_pack_review_timestamp_seconds) - time()`, "{{pack}}").below(packLimit),
		},
		[]Panel{
			found("Papers and reports that need somebody", "Number of duties about papers and reports by requirement, standing, severity and role, as the packs that come along name them. Nothing: none of these needs anybody, or nothing is known (see the first row).",
				`requirement=~"paper.*|report.*"`).empty("none, or not known"),
			found("Everything that needs somebody", everything, "").empty("none, or not known"),
		},
		[]Panel{standing()})
}

func curator() Dashboard {
	return dashboard("antidotary-curator", "antidotary: curator", "Animals and antivenom: what is out of order, what ends soon, and by when to act. Vials are planning figures; the treating clinician decides.",
		first(), mine("curator"),
		[]Panel{
			actBy("curator"),
			figure("Animals and lots recorded", "none", "Animals held now, and lots of antivenom, as recorded. A number that is not what you see on the shelf is a record to mend.",
				`max by (kind) (antidotary_records{kind=~"animal|lot"})`, "{{kind}}"),
		},
		[]Panel{
			found("Antivenom: cover and counts", "Number of duties about antivenom by requirement, standing, severity and role, as the packs that come along name them; in_order here means that it ends or must be counted soon. Keep enclosures shut where it is out of order. Nothing: none needs anybody, or nothing is known (see the first row).",
				`requirement=~"cover.*|count.*"`).empty("none, or not known"),
			found("Everything that needs somebody", everything, "").empty("none, or not known"),
		},
		[]Panel{standing()})
}

func operations() Dashboard {
	return dashboard("antidotary-operations", "antidotary: operations", "Whether the watch itself lives: while it does not, nobody is told of anything. Each alert is explained in runbook.md.",
		first(),
		[]Panel{
			figure("Daemons that are scraped", "none", "Number of daemons whose metrics arrive. Below 1 nobody watches, or this Prometheus does not see it. Runbook: AntidotaryAbsent.", `count(antidotary_build_info)`, "").below(1),
			figure("The database answered", "s", "Seconds since the database last answered. From a quarter of an hour on look at the database and the log. Runbook: AntidotaryDatabaseSilent.",
				`time() - max(antidotary_database_answered_timestamp_seconds)`, "").from(databaseLimit),
			figure("The oldest mail has waited", "s", "Seconds for which the oldest mail has waited. From an hour on people are not being told: look at antidotary outbox. Runbook: AntidotaryMailStuck.",
				`time() - min(antidotary_outbox_oldest_pending_timestamp_seconds)`, "").from(mailLimit).empty("none waits, or not known"),
			figure("Mail refused for good", "none", "Number of mails that a mail server refused for good, of those that are kept. One more is a person who was not told. Runbook: AntidotaryMailRefused.",
				known(`max(antidotary_outbox_messages{state="dead"})`), ""),
		},
		[]Panel{
			figure("Jobs: share of the time allowed", "percentunit", "Time since each job last ended well, as a share of two of its intervals and five minutes. From 100 % on see the log. Runbook: AntidotarySweepLate, AntidotaryJobLate.", allowed(`task=~".+"`), "{{task}}").from(1),
			figure("Jobs that fail", "none", "1 while a job's newest run has not ended well; it is tried again within 15 minutes. The log says why. Runbook: AntidotarySweepFailing.", `max by (task) (antidotary_job_failing)`, "{{task}}").from(1).
				words(map[string]string{"0": "well", "1": "FAILING"}),
			figure("Jobs: due next", "dateTimeAsIso", "When each job is due next. A time that has passed and stays: its loop is stuck, see /healthz.", `1000 * min by (task) (antidotary_job_next_timestamp_seconds)`, "{{task}}"),
		},
		[]Panel{
			lines("Jobs: begun late by", "s", "Seconds from when a job was due until its last good run began. Minutes are ordinary after a restart; hours mean that nobody ran.", Query{Expr: `max by (task) (antidotary_job_lateness_seconds)`, Legend: "{{task}}"}),
			lines("Mails by state", "none", "Number of mails in each state. What is queued, retry or ambiguous and stays so does not leave: see antidotary outbox.", Query{Expr: `max by (state) (antidotary_outbox_messages)`, Legend: "{{state}}"}),
		},
		[]Panel{
			lines("Memory of the process", "bytes", "Bytes of memory that each daemon holds, and bytes of them in use by its objects. A line that only ever rises is a fault to report.",
				Query{Expr: ours("process_resident_memory_bytes"), Legend: "{{instance}} held"}, Query{Expr: ours("go_memstats_heap_inuse_bytes"), Legend: "{{instance}} in use"}),
			lines("Processor and open files", "none", "Seconds of processor time for each second, and number of open files, of each daemon. A processor that is always busy, or files that only rise, are a fault to report.",
				Query{Expr: ours("rate(process_cpu_seconds_total[5m])"), Legend: "{{instance}} processor"}, Query{Expr: ours("process_open_fds"), Legend: "{{instance}} files"}),
		},
		[]Panel{standing()})
}

// ours takes a figure of every process that is a daemon of the watch.
func ours(expr string) string {
	return expr + ` * on (job, instance) group_left () (antidotary_build_info > 0)`
}
