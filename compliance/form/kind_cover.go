package form

var cover = Kind{Name: "cover",
	Says:     "For each species held at a site there is a full course of one antivenom, in date and within reach, for each of so many people bitten at once. Asked of a site it gives one answer for all its species, and says only what goes beyond one victim. Vials are planning figures with a source; the treating clinician, the poison centre and the label decide. Covered is not safe.",
	Subjects: []string{"holding", "site"},
	Keys: []Key{
		{Name: "victims", Type: Whole, Need: true, Least: 1, Most: 5, Says: "For how many people bitten at once: by any species at the site, the worst set of them. With 2 or more, a species is short where it belongs to a smallest set that cannot be treated. With subject site 2 at least."},
		{Name: "bases", Type: Texts, Need: true, Words: []string{"indicated", "immunogen", "paraspecific"}, Says: bases},
		{Name: "within_minutes", Type: Whole, Least: 0, Most: 1440, Otherwise: "the site's own places count, and nothing else", Says: "Which vials count: those of places, and of partners under a confirmed agreement, that are recorded as so many minutes away at most."},
		{Name: "same_animal_twice", Type: Flag, Otherwise: "true", Says: "One animal may bite two people: the keeper, and whoever helps."},
		{Name: "persons", Type: Whole, Least: 1, Most: 1000, Otherwise: "no bound", Says: "How many people are at a site at most, where fewer are there than victims are planned for."},
		{Name: "beyond_one", Type: Flag, Otherwise: "false; with subject site true", Says: "Another rule asks for one victim: of a species that is short even alone this one says nothing. For two victims or more. With subject site it is always so; where a species cannot be told even alone, the site cannot be told either."},
		{Name: "approved", Type: Flag, Otherwise: "false", Says: "Of the house's own vials only those count that it may use: the record of the product says approval: none-needed, or names a class of paper of which one is in force for the site. Where nothing is recorded it cannot be told. What a partner hands out is the partner's to have approved."},
		{Name: "order_lead", Type: Span, Need: true, Says: "From order to shelf, where neither a recorded offer nor the product says how long it takes."},
		{Name: "margin_days", Type: Whole, Least: 0, Most: 365, Otherwise: "0", Says: "Calendar days added to the lead of an offer or product."},
	}}

// bases says what a rule on antivenom takes as a ground (inventory.Basis).
const bases = "On what grounds a product may be taken to work: indicated, the label names the species; immunogen, its venom was used to make the product; paraspecific, an effect beyond the label was published."
