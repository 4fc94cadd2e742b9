package api

// ListChange is what taking a file does with one mark of a list that stands, or with a line that is
// taken over from another list.
type ListChange struct {
	Row     int            `json:"row" doc:"Row of the file. 0: the file has the mark no more."`
	Job     string         `json:"job"`
	List    string         `json:"list"`
	Mark    string         `json:"mark"`
	What    string         `json:"what" enum:"added,changed,taken over,withdrawn,unchanged,elsewhere" doc:"elsewhere: it was taken into another list, and stays there."`
	From    string         `json:"from,omitempty" doc:"The other list, of taken over and elsewhere."`
	Fields  []FieldChange  `json:"fields" doc:"In what the line differs from what stood."`
	Pieces  int            `json:"pieces" doc:"That the line asks for now."`
	Had     []StateCount   `json:"had" doc:"The bundles that the line had, by how far they are. States without any are left out."`
	Asked   []ListQuestion `json:"asked" doc:"Begun bundles of which a person has to say what becomes of them."`
	Counted int            `json:"counted" doc:"Pieces of begun bundles that count for the line, as far as it is decided; what is open counts as deliver."`
	Stays   int            `json:"stays" doc:"Pieces of bundles that are not begun and keep their tags. All others that are not begun fall away."`
	Owed    int            `json:"owed" doc:"Pieces for which new bundles are made."`
	Surplus int            `json:"surplus" doc:"Pieces that go out beyond what the line asks for."`
}

// FieldChange is one field of a line, as people write it.
type FieldChange struct {
	Field string `json:"field" enum:"steel,length,pieces,shape,route,note"`
	Was   string `json:"was"`
	Is    string `json:"is"`
}

// StateCount counts the bundles of a line in one state.
type StateCount struct {
	State   string `json:"state" enum:"not begun,begun,cut,loaded,shipped"`
	Bundles int    `json:"bundles"`
	Pieces  int    `json:"pieces"`
}

// ListQuestion is a begun bundle whose line was changed or withdrawn, or that is too many.
type ListQuestion struct {
	Bundle  string   `json:"bundle"`
	Name    string   `json:"name" example:"2/3"`
	Pieces  int      `json:"pieces"`
	State   string   `json:"state" enum:"begun,cut,loaded,shipped"`
	Why     string   `json:"why" doc:"Why it is asked about."`
	May     []string `json:"may" doc:"What can be decided: deliver, scrap, to stock."`
	WhyOnly string   `json:"why_only,omitempty" doc:"Why nothing else can be."`
	Decided string   `json:"decided,omitempty" doc:"What was said. Left out: nothing yet."`
}
