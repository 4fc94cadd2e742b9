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

// MakePerson makes a badge. The name is kept outside the journal, so that it can be taken out.
type MakePerson struct {
	Name string `json:"name" maxLength:"60"`
	By
}

// Person is a badge and whose it is.
type Person struct {
	Number string `json:"number"`
	Name   string `json:"name,omitempty"`
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
