package dashboards

// The shape of a dashboard as Grafana reads it (its documentation, "Dashboard
// JSON model" and the panels' field options; from memory, schema version 39).

// Dashboard is one dashboard.
type Dashboard struct {
	Title         string     `json:"title"`
	UID           string     `json:"uid"`
	Description   string     `json:"description"`
	Tags          []string   `json:"tags"`
	SchemaVersion int        `json:"schemaVersion"`
	Editable      bool       `json:"editable"`
	Refresh       string     `json:"refresh"`
	Time          span       `json:"time"`
	Templating    templating `json:"templating"`
	Panels        []Panel    `json:"panels"`
}

type span struct {
	From string `json:"from"`
	To   string `json:"to"`
}

type templating struct {
	List []variable `json:"list"`
}

type variable struct {
	Name  string `json:"name"`
	Label string `json:"label"`
	Type  string `json:"type"`
	Query string `json:"query"`
}

type source struct {
	Type string `json:"type"`
	UID  string `json:"uid"`
}

// Panel is one figure, line or table.
type Panel struct {
	ID          int     `json:"id"`
	Type        string  `json:"type"` // stat, timeseries or table
	Title       string  `json:"title"`
	Description string  `json:"description"`
	Source      source  `json:"datasource"`
	Grid        grid    `json:"gridPos"`
	Targets     []Query `json:"targets"`
	Fields      fields  `json:"fieldConfig"`
	Options     options `json:"options"`

	mayBeEmpty bool // nothing to show is a good answer
}

type grid struct {
	H int `json:"h"`
	W int `json:"w"`
	X int `json:"x"`
	Y int `json:"y"`
}

// Query is what a panel asks of Prometheus.
type Query struct {
	Ref     string `json:"refId"`
	Expr    string `json:"expr"`
	Legend  string `json:"legendFormat,omitempty"`
	Instant bool   `json:"instant"`
	Range   bool   `json:"range"`
	Format  string `json:"format"`
}

type fields struct {
	Defaults  fieldDefaults `json:"defaults"`
	Overrides []struct{}    `json:"overrides"`
}

type fieldDefaults struct {
	Unit       string     `json:"unit"`
	Decimals   *int       `json:"decimals,omitempty"`
	NoValue    string     `json:"noValue"`
	Mappings   []mapping  `json:"mappings"`
	Thresholds thresholds `json:"thresholds"`
}

type thresholds struct {
	Mode  string `json:"mode"`
	Steps []step `json:"steps"`
}

// step is a colour from a value on; nil: from below.
type step struct {
	Color string   `json:"color"`
	Value *float64 `json:"value"`
}

type mapping struct {
	Type    string             `json:"type"`
	Options map[string]meaning `json:"options"`
}

type meaning struct {
	Text  string `json:"text"`
	Index int    `json:"index"`
}

type options struct {
	ReduceOptions *reduce `json:"reduceOptions,omitempty"`
	ColorMode     string  `json:"colorMode,omitempty"`
	TextMode      string  `json:"textMode,omitempty"`
	ShowHeader    bool    `json:"showHeader,omitempty"`
}

type reduce struct {
	Calcs []string `json:"calcs"`
}
