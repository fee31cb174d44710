package wire

// Protocol versions. A server answers every version from ProtoMin to Proto.
const (
	ProtoMin = 1
	Proto    = 1
)

// Limits of what is sent; sizes are of the text before compression.
const (
	MaxLine    = 8 << 10       // bytes of one record line, without its line feed
	MaxFresh   = MaxLine - 160 // bytes of a line when first written; the rest is for was and mac
	MaxLines   = 200           // record lines in one message
	MaxRecords = 64 << 10      // bytes of all record lines of one message, line feeds included
	MaxHeader  = 4 << 10       // bytes of the first line of a message
	MaxMessage = 8 << 10       // bytes of a message that is one JSON object
)

// ContentType is that of the exchange, both ways.
const ContentType = "application/x-ndjson"

// Paths of the messages.
const (
	PathHello    = "/v1/hello"
	PathEnrol    = "/v1/enrol"
	PathToken    = "/v1/token"
	PathDevices  = "/v1/devices"
	PathExchange = "/v1/exchange"
	PathLeave    = "/v1/leave"
)
