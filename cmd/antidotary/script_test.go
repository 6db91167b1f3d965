package main

import (
	"context"
	"encoding/json"
	"os"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// now is the instant at which all scripts run: a Wednesday morning, before it
// is the same day everywhere.
var now = time.Date(2026, time.November, 25, 9, 0, 0, 0, time.UTC)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"antidotary": func() {
			clock := func() time.Time { return now }
			if at := os.Getenv("ANTIDOTARY_TEST_NOW"); at != "" {
				t, err := time.Parse(time.RFC3339, at)
				if err != nil {
					panic(err)
				}
				clock = func() time.Time { return t }
			}
			os.Exit(run(context.Background(), os.Args[1:], terminal{os.Stdout, os.Stderr, clock}))
		},
	})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/script", RequireExplicitExec: true, Cmds: map[string]func(*testscript.TestScript, bool, []string){
		// exits CODE COMMAND...: the command must end with that code.
		"exits": func(ts *testscript.TestScript, neg bool, args []string) {
			want := args[0]
			err := ts.Exec(args[1], args[2:]...)
			got := "0"
			if exit, ok := err.(interface{ ExitCode() int }); ok {
				got = string(rune('0' + exit.ExitCode()))
			} else if err != nil {
				ts.Fatalf("run %v: %v", args[1:], err)
			}
			if got != want {
				ts.Fatalf("%v exited %s, want %s\n%s", args[1:], got, want, ts.ReadFile("stderr"))
			}
		},
		// format1 FILE: the file is JSON with "format": 1.
		"format1": func(ts *testscript.TestScript, neg bool, args []string) {
			var doc struct{ Format int }
			if err := json.Unmarshal([]byte(ts.ReadFile(args[0])), &doc); err != nil || doc.Format != 1 {
				ts.Fatalf("%s: format %d, %v", args[0], doc.Format, err)
			}
		},
	}})
}
