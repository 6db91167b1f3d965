package daemon

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"strconv"
	"testing"

	"github.com/xuri/excelize/v2"

	"antidotary/daemon/intake"
	"antidotary/daemon/store"
)

// How many rows the benchmark has.
const (
	benchAnimals = 100_000
	benchPapers  = 200_000
	benchRows    = benchAnimals + benchPapers
)

var benchSpecies = []string{"Naja kaouthia", "Vipera berus", "Bitis arietans", "Crotalus atrox", "Dendroaspis polylepis", "Ophiophagus hannah"}

// benchLists yields the rows of somebody's two long lists, headings first.
func benchLists(animal, paper func(...string) error) error {
	if err := animal("accession", "species", "enclosure", "room", "arrived", "from", "captive bred", "owner"); err != nil {
		return err
	}
	for i := range benchAnimals {
		if err := animal(fmt.Sprintf("TL-%06d", i), benchSpecies[i%len(benchSpecies)], fmt.Sprintf("E-%05d", i/3), "hot room", fmt.Sprintf("20%02d-%02d-%02d", i%25, 1+i%12, 1+i%28), "a dealer", "yes", "the house"); err != nil {
			return err
		}
	}
	if err := paper("number", "class", "authority", "sites", "species", "issued", "expires", "renewable"); err != nil {
		return err
	}
	for i := range benchPapers {
		if err := paper(fmt.Sprintf("DWA-%06d", i), "dwa-licence", "Fictional Council", "Thornbury Lane", benchSpecies[i%len(benchSpecies)]+": 5; genus Naja", fmt.Sprintf("2024-%02d-%02d", 1+i%12, 1+i%28), fmt.Sprintf("2027-%02d-%02d", 1+i%12, 1+i%28), "yes"); err != nil {
			return err
		}
	}
	return nil
}

func benchFolder(b *testing.B) string {
	b.Helper()
	folder := b.TempDir()
	var animals, papers bytes.Buffer
	a, p := csv.NewWriter(&animals), csv.NewWriter(&papers)
	if err := benchLists(func(row ...string) error { return a.Write(row) }, func(row ...string) error { return p.Write(row) }); err != nil {
		b.Fatal(err)
	}
	a.Flush()
	p.Flush()
	for name, data := range map[string][]byte{"animals.csv": animals.Bytes(), "papers.csv": papers.Bytes()} {
		if err := os.WriteFile(filepath.Join(folder, name), data, 0o600); err != nil {
			b.Fatal(err)
		}
	}
	return folder
}

func benchBook(b *testing.B) string {
	b.Helper()
	f := excelize.NewFile()
	defer f.Close()
	sheet := func(name string) func(...string) error {
		if _, err := f.NewSheet(name); err != nil {
			b.Fatal(err)
		}
		out, err := f.NewStreamWriter(name)
		if err != nil {
			b.Fatal(err)
		}
		line := 0
		return func(row ...string) error {
			if row == nil {
				return out.Flush()
			}
			line++
			cells := make([]any, len(row))
			for i := range row {
				cells[i] = row[i]
			}
			return out.SetRow(fmt.Sprintf("A%d", line), cells)
		}
	}
	animal, paper := sheet("animals"), sheet("papers")
	if err := benchLists(animal, paper); err != nil {
		b.Fatal(err)
	}
	for _, flush := range []func(...string) error{animal, paper} {
		if err := flush(); err != nil {
			b.Fatal(err)
		}
	}
	file := filepath.Join(b.TempDir(), "lists.xlsx")
	if err := f.SaveAs(file); err != nil {
		b.Fatal(err)
	}
	return file
}

var peakLine = regexp.MustCompile(`VmHWM:\s+(\d+) kB`)

// peak measures the most memory that work needs, in bytes, by the kernel's own
// high-water mark; 0 where there is none to reset.
func peak(b *testing.B, work func()) float64 {
	b.Helper()
	b.StopTimer()
	debug.FreeOSMemory()
	reset := os.WriteFile("/proc/self/clear_refs", []byte("5"), 0)
	b.StartTimer()
	work()
	b.StopTimer()
	defer b.StartTimer()
	status, err := os.ReadFile("/proc/self/status")
	m := peakLine.FindSubmatch(status)
	if reset != nil || err != nil || m == nil {
		return 0
	}
	kb, err := strconv.Atoi(string(m[1]))
	if err != nil {
		b.Fatal(err)
	}
	return float64(kb) * 1024
}

// BenchmarkIntake takes 100,000 animals and 200,000 papers in, and exports
// them. The floor is to read the same CSV files with encoding/csv and keep the
// records.
func BenchmarkIntake(b *testing.B) {
	folder := benchFolder(b)
	var floorTime, floorPeak float64
	measure := func(name string, work func(b *testing.B)) {
		b.Run(name, func(b *testing.B) {
			var most float64
			for b.Loop() {
				most = max(most, peak(b, func() { work(b) }))
			}
			took := b.Elapsed().Seconds() / float64(b.N)
			if name == "floor" {
				floorTime, floorPeak = took, most
			}
			b.ReportMetric(benchRows/took, "rows/s")
			b.ReportMetric(most/(1<<20), "peak-MiB")
			if floorTime > 0 {
				b.ReportMetric(took/floorTime, "x-floor-time")
				b.ReportMetric(most/floorPeak, "x-floor-peak")
			}
		})
	}
	measure("floor", func(b *testing.B) {
		kept := 0
		var all [][][]string
		for _, name := range []string{"animals.csv", "papers.csv"} {
			f, err := os.Open(filepath.Join(folder, name))
			if err != nil {
				b.Fatal(err)
			}
			rows, err := csv.NewReader(bufio.NewReader(f)).ReadAll()
			if err != nil {
				b.Fatal(err)
			}
			f.Close()
			all = append(all, rows)
			kept += len(all[len(all)-1])
		}
		if kept != benchRows+2 {
			b.Fatal(kept)
		}
	})
	settings := intake.Settings{House: "Thornbury Lane collection", Site: "Thornbury Lane", Zone: "Europe/London", NewSpecies: true, NewAuthorities: "Europe/London"}
	take := func(b *testing.B, opt Options, from string, s intake.Settings, want int) {
		b.Helper()
		done, err := Import(b.Context(), opt, ImportRequest{From: from, Actor: store.Actor{ID: "marta"}, Settings: s})
		if err != nil || done.RowsRefused() > 0 || done.Recorded < want {
			b.Fatalf("%v, %+v", err, done)
		}
	}
	fresh := func(b *testing.B) Options {
		return exporting(b, filepath.Join(b.TempDir(), "antidotary.db"))
	}
	measure("preview", func(b *testing.B) {
		if _, err := Import(b.Context(), exporting(b, filepath.Join(b.TempDir(), "none.db")), ImportRequest{From: folder, DryRun: true, Settings: settings}); err != nil {
			b.Fatal(err)
		}
	})
	if server := importDatabases["postgres"]; os.Getenv("ANTIDOTARY_POSTGRES") != "" {
		measure("postgres", func(b *testing.B) { take(b, exporting(b, server(b)), folder, settings, benchRows) })
	}
	book := benchBook(b)
	measure("xlsx", func(b *testing.B) { take(b, fresh(b), book, settings, benchRows) })
	home := b.TempDir()
	kept := exporting(b, filepath.Join(home, "antidotary.db"))
	measure("sqlite", func(b *testing.B) {
		if err := os.RemoveAll(kept.Config.Database); err != nil {
			b.Fatal(err)
		}
		take(b, kept, folder, settings, benchRows)
	})
	measure("again", func(b *testing.B) { take(b, kept, folder, settings, 0) })
	n := 0
	to := func(ext string) string { n++; return filepath.Join(home, fmt.Sprintf("out%d%s", n, ext)) }
	var out, outBook string
	measure("export", func(b *testing.B) {
		out = to("")
		if _, err := Export(b.Context(), kept, out); err != nil {
			b.Fatal(err)
		}
	})
	measure("export-xlsx", func(b *testing.B) {
		outBook = to(".xlsx")
		if _, err := Export(b.Context(), kept, outBook); err != nil {
			b.Fatal(err)
		}
	})
	measure("exported", func(b *testing.B) { take(b, fresh(b), out, intake.Settings{}, benchRows) })
	measure("exported-xlsx", func(b *testing.B) { take(b, fresh(b), outBook, intake.Settings{}, benchRows) })
}
