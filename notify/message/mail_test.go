package message

import (
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "write the golden files anew")

const (
	id1 = "3f0c9a52-7d0b-4d7e-9a39-2f3b1f0a6a11"
	id2 = "a1b2c3d4-0000-4000-8000-00000000beef"
)

func sample() Mail {
	return Mail{
		ID:         id1,
		From:       Address{"antidotary, Fictional Reptile House", "watch@reptiles.example"},
		To:         Address{"Zoë Ångström", "zoe@keepers.example"},
		BounceTo:   "bounce@reptiles.example",
		Date:       time.Date(2031, 3, 30, 3, 30, 15, 999, time.FixedZone("UTC+2", 2*3600)),
		Subject:    "Bewilligung läuft ab: Naja sp., Gehege 12, noch 30 Tage bis zum letzten Tag für den Antrag",
		Text:       "Guten Tag,\n\n.eine Zeile mit Punkt am Anfang\nFrom here on: 3 = drei   \n" + strings.Repeat("lang ", 40) + "\n",
		HTML:       "<p>Guten Tag, <b>Zoë</b></p>\n",
		ListID:     "warnings.reptiles.example",
		InReplyTo:  id2 + "@reptiles.example",
		References: []string{id2 + "@reptiles.example"},
	}
}

func TestBytesGolden(t *testing.T) {
	plain := sample()
	plain.HTML, plain.ListID, plain.InReplyTo, plain.References = "", "", "", nil
	for name, m := range map[string]Mail{"alternative": sample(), "plain": plain} {
		t.Run(name, func(t *testing.T) {
			got := mustBytes(t, m)
			mustBeSafe(t, got)
			file := filepath.Join("testdata", name+".eml")
			if *update {
				if err := os.WriteFile(file, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), string(got)); diff != "" {
				t.Errorf("-want +got (go test -update writes anew)\n%s", diff)
			}
		})
	}
}

func TestBytesReadBack(t *testing.T) {
	m := sample()
	r := mustRead(t, mustBytes(t, m))
	if r.subject != m.Subject {
		t.Errorf("subject %q", r.subject)
	}
	if r.text != bodyText(m.Text) || r.html != m.HTML {
		t.Errorf("text %q, html %q", r.text, r.html)
	}
	if len(r.to) != 1 || r.to[0].Name != m.To.Name || r.to[0].Address != m.To.Addr {
		t.Errorf("to %v", r.to)
	}
	if date, err := r.header.Date(); err != nil || !date.Equal(m.Date.Truncate(time.Second)) {
		t.Errorf("date %v, %v", date, err)
	}
	want := map[string]string{
		"Date":                     "Sun, 30 Mar 2031 01:30:15 +0000",
		"Message-Id":               "<" + id1 + "@reptiles.example>",
		"In-Reply-To":              "<" + id2 + "@reptiles.example>",
		"References":               "<" + id2 + "@reptiles.example>",
		"Auto-Submitted":           "auto-generated",
		"X-Auto-Response-Suppress": "All",
		"List-Id":                  "<warnings.reptiles.example>",
		"Mime-Version":             "1.0",
	}
	for k, v := range want {
		if diff := cmp.Diff([]string{v}, r.header[k]); diff != "" {
			t.Errorf("%s: %s", k, diff)
		}
	}
}

func TestEnvelope(t *testing.T) {
	m := sample()
	if from, to := m.Envelope(); from != "bounce@reptiles.example" || to != "zoe@keepers.example" {
		t.Errorf("envelope %s to %s", from, to)
	}
	m.BounceTo = ""
	if from, _ := m.Envelope(); from != "watch@reptiles.example" {
		t.Errorf("sender without a bounce address: %s", from)
	}
	if strings.Contains(string(mustBytes(t, sample())), "bounce@") {
		t.Error("the bounce address is in the bytes")
	}
}

func TestRefused(t *testing.T) {
	tests := []struct {
		name  string
		spoil func(*Mail)
		want  string
	}{
		{"no id", func(m *Mail) { m.ID = "" }, "id: must be a UUID"},
		{"counter as id", func(m *Mail) { m.ID = "42" }, "id: must be a UUID"},
		{"upper-case id", func(m *Mail) { m.ID = strings.ToUpper(id1) }, "id: must be a UUID"},
		{"id with line end", func(m *Mail) { m.ID = id1 + "\r\nBcc: x@y.example" }, "id: must be a UUID"},
		{"from", func(m *Mail) { m.From.Addr = "a@x.example> SIZE=1" }, "from: mail address"},
		{"to with second recipient", func(m *Mail) { m.To.Addr = "a@x.example, b@y.example" }, "to: mail address"},
		{"to with header", func(m *Mail) { m.To.Addr = "a@x.example\r\nBcc: b@y.example" }, "to: mail address"},
		{"bounce", func(m *Mail) { m.BounceTo = "<>" }, "bounce to: mail address"},
		{"no date", func(m *Mail) { m.Date = time.Time{} }, "date: must be set"},
		{"date beyond RFC 5322", func(m *Mail) { m.Date = time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC) }, "date: must be set"},
		{"blank text", func(m *Mail) { m.Text = " \r\n\x00\t" }, "text: must not be empty"},
		{"list id with header", func(m *Mail) { m.ListID = "x.example>\r\nX-Evil: 1" }, "list id:"},
		{"list id with space", func(m *Mail) { m.ListID = "our list" }, "list id:"},
		{"in reply to brackets", func(m *Mail) { m.InReplyTo = "<" + id2 + "@x.example>" }, "in reply to:"},
		{"reference without domain", func(m *Mail) { m.References = []string{id2 + "@x.example", id2} }, "references[1]:"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := sample()
			tt.spoil(&m)
			raw, err := m.Bytes()
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Fatalf("got %v, want %q", err, tt.want)
			}
			if raw != nil || strings.Contains(err.Error(), "@y.example") {
				t.Errorf("bytes %q, error %v", raw, err)
			}
		})
	}
}

// Text that a person reads is cleaned, never refused, and cannot leave its field.
func TestCleaned(t *testing.T) {
	tests := []struct{ name, in, subject, text string }{
		{"header injection", "ok\r\nBcc: b@y.example", "ok Bcc: b@y.example", "ok\nBcc: b@y.example\n"},
		{"fold injection", "ok\r\n X: y", "ok X: y", "ok\n X: y\n"},
		{"end of header", "ok\r\n\r\n<script>", "ok <script>", "ok\n\n<script>\n"},
		{"bare CR and LF", "a\rb\nc", "a b c", "a\nb\nc\n"},
		{"end of data", "a\r\n.\r\nMAIL FROM:<x>", "a . MAIL FROM:<x>", "a\n.\nMAIL FROM:<x>\n"},
		{"NUL, ESC, DEL", "a\x00b\x1bc\x7fd", "a b c d", "abcd\n"},
		{"C1 and line separators", "a\u0085b\u2028c", "a b c", "ab\nc\n"},
		{"bidirectional override", "vials \u202e01", "vials 01", "vials 01\n"},
		{"invalid UTF-8", "a\xffb", "a\uFFFDb", "a\uFFFDb\n"},
		{"spaces", "  a   b  ", "a b", "  a   b  \n"},
		{"literal encoded word", "=?utf-8?q?=0D=0ABcc:?=", "=?utf-8?q?=0D=0ABcc:?=", "=?utf-8?q?=0D=0ABcc:?=\n"},
		{"3000 octets without a space", strings.Repeat("x", 3000), strings.Repeat("x", 3000), strings.Repeat("x", 3000) + "\n"},
		{"3000 umlauts", strings.Repeat("ü", 3000), strings.Repeat("ü", 3000), strings.Repeat("ü", 3000) + "\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := sample()
			m.Subject, m.Text, m.HTML, m.To.Name, m.From.Name = tt.in, tt.in, tt.in, tt.in, tt.in
			raw := mustBytes(t, m)
			mustBeSafe(t, raw)
			r := mustRead(t, raw)
			mustHaveOurHeadersOnly(t, r)
			if r.subject != tt.subject || r.text != tt.text || r.html != tt.text {
				t.Errorf("subject %q, text %q, html %q", r.subject, r.text, r.html)
			}
			if r.to[0].Name != displayName(tt.in) || r.from[0].Name != displayName(tt.in) {
				t.Errorf("to %q, from %q", r.to[0].Name, r.from[0].Name)
			}
		})
	}
}

// Each recipient's mail names that recipient and nobody else.
func TestNobodyElsesAddress(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		local := rapid.StringMatching(`[a-z]{6,12}`)
		people := rapid.SliceOfNDistinct(local, 2, 6, rapid.ID).Draw(t, "people")
		for i, p := range people {
			m := sample()
			m.To = Address{Name: p, Addr: p + "@keepers.example"}
			raw, err := m.Bytes()
			if err != nil {
				t.Fatal(err)
			}
			if _, to := m.Envelope(); to != m.To.Addr {
				t.Fatalf("envelope to %s", to)
			}
			for j, other := range people {
				if found := strings.Contains(string(raw), other+"@keepers.example"); found != (i == j) && !strings.HasSuffix(p, other) {
					t.Fatalf("mail to %s holds the address of %s: %v", p, other, found)
				}
			}
		}
	})
}

func FuzzBytes(f *testing.F) {
	f.Add("subject", "name", "text", "<p>html</p>")
	f.Add("a\r\nBcc: x@y.example", "b\r\nTo: x@y.example", ".\r\n.\r\n", "--=_"+id1+"--")
	f.Add("=?utf-8?q?a?= =?x", `"quoted\" <x@y.example>`, "\x00\xff\u202e", strings.Repeat("=", 2000))
	f.Add(strings.Repeat("é", 400), strings.Repeat("w", 1200), "\r\r\n\n", "\t \t")
	f.Fuzz(func(t *testing.T, subject, name, text, html string) {
		m := sample()
		m.Subject, m.From.Name, m.To.Name, m.Text, m.HTML = subject, name, name, text, html
		raw, err := m.Bytes()
		if err != nil {
			if strings.TrimSpace(bodyText(text)) != "" {
				t.Fatalf("refused: %v", err)
			}
			return
		}
		mustBeSafe(t, raw)
		r := mustRead(t, raw)
		mustHaveOurHeadersOnly(t, r)
		if got := headerText(subject); r.subject != got {
			t.Errorf("subject %q, want %q", r.subject, got)
		}
		if r.text != bodyText(text) || html != "" && r.html != bodyText(html) {
			t.Errorf("text %q, html %q", r.text, r.html)
		}
		if len(r.to) != 1 || r.to[0].Address != m.To.Addr || len(r.from) != 1 || r.from[0].Address != m.From.Addr {
			t.Errorf("from %v to %v", r.from, r.to)
		}
		if string(mustBytes(t, m)) != string(raw) {
			t.Error("not the same bytes twice")
		}
	})
}

func mustBytes(t testing.TB, m Mail) []byte {
	t.Helper()
	raw, err := m.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return raw
}

func mustHaveOurHeadersOnly(t testing.TB, r read) {
	t.Helper()
	ours := []string{"Auto-Submitted", "Content-Transfer-Encoding", "Content-Type", "Date", "From", "In-Reply-To", "List-Id",
		"Message-Id", "Mime-Version", "References", "Subject", "To", "X-Auto-Response-Suppress"}
	for k, v := range r.header {
		if !slices.Contains(ours, k) || len(v) != 1 {
			t.Errorf("header %s: %q", k, v)
		}
	}
}
