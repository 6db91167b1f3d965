package form

var prohibit = Kind{Name: "prohibit",
	Says:     "The animal is not to be held here, unless an exemption holds that the same law names. Other papers do not help.",
	Subjects: []string{"animal"},
	Keys: []Key{
		{Name: "unless", Type: Mappings, Says: "The exemptions that this law itself names; any one of them is enough.", Keys: []Key{
			{Name: "citation", Type: Text, Need: true, Says: "The text that names the exemption: a text alone, without the keys that the citation of a rule has."},
			{Name: "scope", Type: Text, Otherwise: "for every animal with the paper", Says: "For what it is: an expression over the attributes of an animal, such as site_use == \"zoo\"."},
			{Name: "paper", Type: Mapping, Otherwise: "none is asked for", Keys: permit.Keys, Says: "The paper that it asks for."},
		}},
	}}
