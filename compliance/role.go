package compliance

import "antidotary/inventory"

// Role is what a person does in the house, and whom a step is for.
type Role string

// The roles.
const (
	Head          Role = "head" // of collection
	Administrator Role = "administrator"
	Curator       Role = "curator"
	LeadKeeper    Role = "lead-keeper"
	Keeper        Role = "keeper"
	Trainee       Role = "trainee"
	SafetyOfficer Role = "safety-officer"
	Operations    Role = "operations"
	// SecondContact is somebody outside the house, who is told when what must
	// not be missed was missed: nobody inside may be left to see to it.
	SecondContact Role = "second-contact"
)

// Roles lists every role.
var Roles = []Role{Head, Administrator, Curator, LeadKeeper, Keeper, Trainee, SafetyOfficer, Operations, SecondContact}

// Check refuses a role that does not exist.
func (r Role) Check(field string) error { return inventory.OneOf(field, r, Roles...) }
