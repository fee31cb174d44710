package wire

// Code is an error for machines. The list is closed; its order, names and
// statuses never change; new codes are added at the end.
type Code string

// The codes.
const (
	Malformed     Code = "malformed"      // a framing fault: nothing of the request was stored
	TooBig        Code = "too_big"        // more lines or bytes than the limits; send fewer
	Gap           Code = "gap"            // lines before these are missing; Ack tells where to go on
	Fork          Code = "fork"           // the number is taken by another record: this is the copy
	Unauthorized  Code = "unauthorized"   // no token or not a valid one; ask for a new one
	BadAssertion  Code = "bad_assertion"  // the signature, its times or its nonce are not accepted
	UnknownDevice Code = "unknown_device" // no row for this author
	Pending       Code = "pending"        // staff have not confirmed the phone yet
	Forbidden     Code = "forbidden"      // the token does not permit this
	TooOld        Code = "too_old"        // the answer needs a newer app; pushes are still taken
	TooNew        Code = "too_new"        // the server does not know this version yet
	Stale         Code = "stale"          // made from a revision that is not the newest
	CodeUnknown   Code = "code_unknown"   // no such invitation
	CodeExpired   Code = "code_expired"   // the invitation's time is over
	CodeUsed      Code = "code_used"      // the invitation was used before
	WrongPIN      Code = "wrong_pin"      // the number that belongs to the invitation is wrong or missing
	TooManyTries  Code = "too_many_tries" // the invitation is closed after too many tries
	DeviceTaken   Code = "device_taken"   // id or key belong to another enrolment
	TooMany       Code = "too_many"       // too many requests; wait
	Erased        Code = "erased"         // the patient's data was erased on request
	NotFound      Code = "not_found"      // no such address
	BadMethod     Code = "bad_method"     // the address does not answer this method
	BadType       Code = "bad_type"       // the address does not take this content type
	Unavailable   Code = "unavailable"    // the server cannot store at the moment
	Internal      Code = "internal"       // a fault of the server
)

// codeTable is the one table of codes, HTTP statuses (RFC 9110, RFC 6585) and
// sentences.
var codeTable = []struct {
	code     Code
	status   int
	sentence string
}{
	{Malformed, 400, "The request is not in the form that the server understands; nothing of it was stored."},
	{TooBig, 413, "The request is too large; send fewer records at a time."},
	{Gap, 409, "Records before these have not arrived; send them first."},
	{Fork, 409, "Another copy of this app has already used these record numbers."},
	{Unauthorized, 401, "Sign in again: the access token is missing, expired or not valid."},
	{BadAssertion, 401, "The phone's signature was not accepted; start again with a fresh greeting."},
	{UnknownDevice, 401, "This phone is not enrolled here; ask the clinic for a new code."},
	{Pending, 403, "The clinic has not confirmed this phone yet; compare the two numbers at the desk."},
	{Forbidden, 403, "This is not permitted for this phone."},
	{TooOld, 426, "This version of the app is too old to receive data; open the app online to update it. Records are still taken."},
	{TooNew, 501, "The clinic's server does not know this version of the app yet; records stay on the phone until it does."},
	{Stale, 409, "Someone else changed this in the meantime; look at the newest version first."},
	{CodeUnknown, 403, "This code is not known; check the letters or ask the clinic for a new one."},
	{CodeExpired, 403, "This code has expired; ask the clinic for a new one."},
	{CodeUsed, 403, "This code was already used; ask the clinic for a new one."},
	{WrongPIN, 403, "The number the clinic told you does not belong to this code; check it and try again."},
	{TooManyTries, 403, "This code was tried too often and is closed; ask the clinic for a new one."},
	{DeviceTaken, 409, "This phone already belongs to another enrolment; the clinic can help."},
	{TooMany, 429, "Too many requests; wait a moment and try again."},
	{Erased, 410, "The data of this enrolment was erased on request."},
	{NotFound, 404, "There is nothing at this address."},
	{BadMethod, 405, "This address does not answer that method."},
	{BadType, 415, "This address does not take that content type."},
	{Unavailable, 503, "The server cannot store records at the moment; try again later. Nothing is lost on the phone."},
	{Internal, 500, "The server made a mistake; try again later. Nothing is lost on the phone."},
}

// Codes lists the codes in their order.
func Codes() []Code {
	out := make([]Code, len(codeTable))
	for i, row := range codeTable {
		out[i] = row.code
	}
	return out
}

// Status returns the HTTP status of c; 500 for a code that is not listed.
func (c Code) Status() int {
	for _, row := range codeTable {
		if row.code == c {
			return row.status
		}
	}
	return 500
}

// Sentence returns the one English sentence of c.
func (c Code) Sentence() string {
	for _, row := range codeTable {
		if row.code == c {
			return row.sentence
		}
	}
	return Internal.Sentence()
}

// Known reports whether c is listed.
func (c Code) Known() bool {
	for _, row := range codeTable {
		if row.code == c {
			return true
		}
	}
	return false
}

// CodeOf guesses the code of an answer without a readable one, such as that
// of a proxy, from its status.
func CodeOf(status int) Code {
	switch {
	case status == 413:
		return TooBig
	case status == 401:
		return Unauthorized
	case status == 403:
		return Forbidden
	case status == 404:
		return NotFound
	case status == 429:
		return TooMany
	case status == 500:
		return Internal
	case status >= 500:
		return Unavailable
	}
	return Malformed
}

// Error is the body of every answer that is not a success. Message is for
// people; the phone shows its own words for the code.
type Error struct {
	Code    Code   `json:"code"`
	Message string `json:"message"`
	Ack     *Mark  `json:"ack,omitempty"`  // with Gap and Fork: the server's mark
	Wait    int    `json:"wait,omitempty"` // with TooMany and Unavailable: seconds
}

func (e *Error) Error() string { return "server answered " + string(e.Code) }

// Refuse returns the error of c with its sentence.
func Refuse(c Code) *Error { return &Error{Code: c, Message: c.Sentence()} }

// Is makes errors.Is compare errors by their code.
func (e *Error) Is(target error) bool {
	t, ok := target.(*Error)
	return ok && t.Code == e.Code
}
