package founding

import (
	"errors"
	"fmt"
	"strings"

	"antidotary/compliance"
	"antidotary/daemon/asking"
	"antidotary/inventory"
	"antidotary/notify/words"
)

// Question is one thing to ask.
type Question = asking.Question[Answers]

// Law is a pack that speaks for a jurisdiction, to choose from.
type Law struct{ Area, Title string }

// Questions gives what to ask, in order: the house, then each site, then the
// rest. zone is the machine's own, or empty.
func Questions(laws []Law, zone string) (house, site, rest []Question) {
	house = []Question{{Flag: "house", Ask: "What is the house called?", Needed: true, Set: func(a *Answers, s string) error {
		a.House = s
		return nil
	}}}
	return house, siteQuestions(laws, zone), append(append([]Question{victims()}, people()...), append(mailing(), until())...)
}

func siteQuestions(laws []Law, zone string) []Question {
	last := func(a *Answers) *Site { return &a.Sites[len(a.Sites)-1] }
	var known []string
	for _, l := range laws {
		known = append(known, fmt.Sprintf("%s (%s)", l.Area, l.Title))
	}
	return []Question{
		{Flag: "site", Ask: "What is the site called?", Explain: "A site is one place under one law and one clock. You can name more after this one.", Needed: true,
			Set: func(a *Answers, s string) error {
				for _, other := range a.Sites {
					if strings.EqualFold(other.Name, s) {
						return fmt.Errorf("there is a site %q already", other.Name)
					}
				}
				a.Sites = append(a.Sites, Site{Name: s})
				return nil
			}},
		{Flag: "zone", Ask: "In which time zone do its days end?", Explain: "An IANA time zone, such as Europe/London or America/New_York.", Default: zone, Needed: true,
			Set: func(a *Answers, s string) error {
				last(a).Zone = s
				return zoned(s)
			}},
		{Flag: "law", Ask: "Under which law does it stand?",
			Explain: "From the country down, such as us/fl. Rule packs that come along: " + strings.Join(known, ", ") +
				". Any other path may be written: whether the site is lawful cannot be told until you add a pack for it. Nothing: not known yet.",
			Set: func(a *Answers, s string) error {
				last(a).Law = s
				return law(s)
			}},
		{Flag: "use", Ask: "What is it: zoo, private, research or trade?", Explain: "Exemptions in law turn on that. Nothing: not known yet.",
			Set: func(a *Answers, s string) error {
				switch use := inventory.SiteUse(s); use {
				case "", inventory.UseZoo, inventory.UsePrivate, inventory.UseResearch, inventory.UseTrade:
					last(a).Use = use
					return nil
				}
				return fmt.Errorf("%q is not zoo, private, research or trade", s)
			}},
	}
}

func victims() Question {
	return Question{Flag: "victims", Ask: "For how many people bitten at once is antivenom kept: 1 or 2?", Default: "1", Needed: true,
		Explain: "1: a full course for one person, for each species held; enough if nobody ever opens an enclosure while another is being treated. " +
			"2: for two at once; a handler and whoever helps may both be bitten by one animal. " +
			"These are planning figures; the treating clinician, the poison centre and the label decide.",
		Set: func(a *Answers, s string) (err error) {
			a.Victims, err = whole(s, 1, 9)
			return err
		}}
}

func people() []Question {
	does := map[compliance.Role]string{
		compliance.Head:          "Who heads the collection?",
		compliance.Administrator: "Who renews the papers?",
		compliance.Curator:       "Who orders and replaces antivenom?",
		compliance.LeadKeeper:    "Who leads the keepers?",
		compliance.SafetyOfficer: "Who holds the drills?",
		compliance.Operations:    "Who looks after this program?",
	}
	var all []Question
	for _, role := range roles {
		q := Question{Flag: string(role), Ask: does[role], Explain: "NAME, or NAME <ADDRESS>. Nothing: the head of collection.", Set: named(role)}
		if role == compliance.Head {
			q.Needed, q.Explain = true, "NAME, or NAME <ADDRESS> such as Ada Fern <ada@house.example>. Without an address nobody can be mailed."
		}
		all = append(all, q)
	}
	return append(all, Question{Flag: string(compliance.SecondContact), Ask: "Who outside the house is told when something was missed?",
		Explain: "NAME <ADDRESS>. That person also gets the weekly proof that the watch is alive, and so notices if nobody in the house reads it any more. " +
			"The mails name animals, papers and people. Nothing: nobody yet.",
		Set: func(a *Answers, s string) error {
			if p, err := ParsePerson(s); s != "" && err == nil && p.Email == "" {
				return errors.New("an address is needed: NAME <ADDRESS>")
			}
			return named(compliance.SecondContact)(a, s)
		}})
}

func named(role compliance.Role) func(*Answers, string) error {
	return func(a *Answers, s string) error {
		if s == "" {
			return nil
		}
		p, err := ParsePerson(s)
		if err != nil {
			return err
		}
		if a.People == nil {
			a.People = make(map[compliance.Role]Person)
		}
		a.People[role] = p
		return nil
	}
}

func mailing() []Question {
	mails := func(a *Answers) bool { return a.Mail.Host != "" }
	return []Question{
		{Flag: "mail-host", Ask: "Through which mail server does it send?",
			Explain: "The submission server of your mail provider, such as mail.example.org. Nothing: no mail. " + words.NobodyTold,
			Set: func(a *Answers, s string) error {
				a.Mail.Host = s
				return nil
			}},
		{Flag: "mail-port", Ask: "On which port?", Explain: "465 with TLS from the start, or 587 with STARTTLS.", Default: "465", When: mails,
			Set: func(a *Answers, s string) (err error) {
				a.Mail.Port, err = whole(s, 1, 65535)
				if a.Mail.Security = "tls"; a.Mail.Port == 587 || a.Mail.Port == 25 {
					a.Mail.Security = "starttls"
				}
				return err
			}},
		{Flag: "mail-from", Ask: "From which address?", Needed: true, When: mails,
			Set: func(a *Answers, s string) error {
				a.Mail.From = s
				if p, err := ParsePerson("watch <" + s + ">"); err != nil || p.Email == "" {
					return fmt.Errorf("%q is not an address", s)
				}
				return nil
			}},
		{Flag: "mail-username", Ask: "With which user name?", Explain: "Often the address. Nothing: the server asks for none. The password goes into a file, not here.", When: mails,
			Set: func(a *Answers, s string) error {
				a.Mail.Username = s
				return nil
			}},
	}
}

func until() Question {
	return Question{Flag: "not-watched", Ask: "For how many days are the sites not watched yet?", Default: "28", Needed: true,
		Explain: "Until everything is recorded nothing reads as in order. End it earlier with: antidotary watching begun SITE.",
		Set: func(a *Answers, s string) (err error) {
			a.Until, err = whole(s, 0, 366)
			return err
		}}
}
