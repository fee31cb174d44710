package wire

// Leave asks to end the access of the phone whose token it comes under. It has no members: who leaves is who asks.
type Leave struct{}

// Left is the answer: the phone is revoked from now on.
type Left struct {
	State string `json:"state"` // Revoked
}
