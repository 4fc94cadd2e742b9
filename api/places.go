package api

// MakePlace makes a place of the yard or the shop.
type MakePlace struct {
	Name string `json:"name" maxLength:"20" example:"A-14"`
	By
}

// Place is a place of the yard or the shop.
type Place struct {
	Number string `json:"number"`
	Name   string `json:"name"`
}

// Places is a page of places, by name.
type Places struct {
	Places []Place `json:"places"`
	Next   string  `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// PlaceMade is the receipt of a new place.
type PlaceMade struct {
	Recorded
	Place Place `json:"place"`
}

// MakePerson makes a badge. Name, offices and language are kept outside the journal, so that they can be taken out.
type MakePerson struct {
	Name    string   `json:"name" maxLength:"60"`
	Offices []string `json:"offices,omitempty" maxItems:"4" enum:"quality,shipping,floor lead,office" doc:"What the person may settle of the list to resolve."`
	Lang    string   `json:"lang,omitempty" enum:"en,es" doc:"What the pages speak once the badge is scanned. Left out: as the device does."`
	By
}

// SetPerson states anew whose a badge is, which offices it holds, and the language of its person.
type SetPerson struct {
	Name    string   `json:"name,omitempty" maxLength:"60" doc:"Left out: as it is."`
	Offices []string `json:"offices" maxItems:"4" enum:"quality,shipping,floor lead,office" doc:"All offices that the person holds from now on."`
	Lang    string   `json:"lang,omitempty" enum:"en,es" doc:"What the pages speak once the badge is scanned. Left out: as it is."`
}

// Person is a badge and whose it is.
type Person struct {
	Number  string   `json:"number"`
	Name    string   `json:"name,omitempty"`
	Offices []string `json:"offices" doc:"What the person may settle of the list to resolve."`
	Lang    string   `json:"lang,omitempty" doc:"What the pages speak once the badge is scanned."`
}

// Persons is a page of persons, by number.
type Persons struct {
	Persons []Person `json:"persons"`
	Next    string   `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// PersonMade is the receipt of a new badge.
type PersonMade struct {
	Recorded
	Person Person `json:"person"`
}

// SetAlias makes another's code (a mill's, a coater's) stand for one of our numbers.
type SetAlias struct {
	Text   string `json:"text" maxLength:"60" doc:"The code as a scanner reads it."`
	Number string `json:"number" maxLength:"20"`
	By
}
