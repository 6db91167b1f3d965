package label

import (
	"fmt"
	"strings"
)

// carries is what a kind of code carries.
type carries int

const (
	elements carries = iota
	tradeItem
	plain
)

// symbologies are the kinds of code by the identifier that a scanner sends
// before the data (ISO/IEC 15424, as the GS1 syntax engine and the General
// Specifications quote it).
var symbologies = map[string]struct {
	name    string
	carries carries
}{
	"]C1": {"GS1-128", elements},
	"]d2": {"GS1 DataMatrix", elements},
	"]Q3": {"GS1 QR Code", elements},
	"]J1": {"GS1 DotCode", elements},
	"]e0": {"GS1 DataBar or composite", elements},
	"]E0": {"EAN-13 or UPC", tradeItem},
	"]E4": {"EAN-8", tradeItem},
	"]d1": {"DataMatrix that is not of GS1", plain},
	"]Q1": {"QR Code that is not of GS1", plain},
	"]J0": {"DotCode that is not of GS1", plain},
}

// SymbologyName says what kind of code it was; empty where the scanner did not
// say.
func (l Label) SymbologyName() string { return symbologies[l.Symbology].name }

// unprefixed takes the symbology identifier off a scan.
func unprefixed(scan string) (id, data string, what carries, err error) {
	if !strings.HasPrefix(scan, "]") {
		return "", scan, elements, nil
	}
	id = scan[:min(3, len(scan))]
	kind, known := symbologies[id]
	switch {
	case !known:
		return "", "", 0, fmt.Errorf("%q says that it is a kind of code that is not read here: scan the GS1 code of the package, or record what is printed on it", id)
	case kind.carries == plain:
		return "", "", 0, fmt.Errorf("%q says that it is a %s: what it carries has no set meaning; scan the GS1 code of the package, or record what is printed on it", id, kind.name)
	}
	return id, scan[len(id):], kind.carries, nil
}
