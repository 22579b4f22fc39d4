package wheel

import "fmt"

// Code says what kind of refusal an [Error] is. errors.Is finds it:
//
//	errors.Is(err, wheel.ErrConflict)
type Code string

const (
	ErrNotFound    Code = "not found"            // what was asked for is not there
	ErrConflict    Code = "conflict"             // it does not fit what is kept already
	ErrInvalid     Code = "invalid"              // a value that cannot be: a file, a figure, an edit
	ErrMalformed   Code = "malformed"            // a request that cannot be read at all
	ErrTooLarge    Code = "too large"            // more than is read
	ErrForbidden   Code = "forbidden"            // not without a code that was not given
	ErrTooMany     Code = "too many requests"    // to be tried again later
	ErrNotAllowed  Code = "not allowed"          // an address that does not take that kind of request
	ErrNewer       Code = "from a newer version" // a database that only a later version can read
	ErrDamaged     Code = "damaged or foreign"   // a database that cannot be trusted
	ErrUnavailable Code = "unavailable"          // no room, no permission, or in use
)

// Error makes a code an error, so that errors.Is can compare it.
func (c Code) Error() string { return string(c) }

// Error is a refusal: nothing was changed. Its message is whole sentences for
// the person at the bench, one a line: what is wrong, where, what would be
// right. It is the only kind of error that is meant for people.
type Error struct {
	Code    Code
	Message string
	Cause   error // what was found, such as [Problems]; may be nil
}

func (e *Error) Error() string { return e.Message }

// Unwrap lets errors.Is find the code and errors.As the cause.
func (e *Error) Unwrap() []error {
	if e.Cause == nil {
		return []error{e.Code}
	}
	return []error{e.Code, e.Cause}
}

// Refuse is an [Error] with a message.
func Refuse(code Code, format string, args ...any) error {
	return &Error{Code: code, Message: fmt.Sprintf(format, args...)}
}

// RefuseFor is an [Error] with a message and its cause.
func RefuseFor(code Code, cause error, format string, args ...any) error {
	return &Error{Code: code, Cause: cause, Message: fmt.Sprintf(format, args...)}
}
