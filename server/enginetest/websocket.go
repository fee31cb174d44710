package enginetest

import (
	"bufio"
	"crypto/rand"
	"crypto/sha1"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"sync"
)

// socket is a WebSocket to a browser on this machine, as far as WebDriver BiDi needs one: text messages, no extensions (RFC 6455).
type socket struct {
	conn net.Conn
	in   *bufio.Reader
	mu   sync.Mutex // writing
}

func dial(address string) (*socket, error) {
	u, err := url.Parse(address)
	if err != nil {
		return nil, err
	}
	conn, err := net.Dial("tcp", u.Host)
	if err != nil {
		return nil, err
	}
	nonce := make([]byte, 16)
	_, _ = rand.Read(nonce)
	key := base64.StdEncoding.EncodeToString(nonce)
	_, err = fmt.Fprintf(conn, "GET %s HTTP/1.1\r\nHost: %s\r\nUpgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Key: %s\r\nSec-WebSocket-Version: 13\r\n\r\n",
		u.RequestURI(), u.Host, key)
	if err != nil {
		return nil, err
	}
	in := bufio.NewReader(conn)
	res, err := http.ReadResponse(in, nil)
	if err != nil {
		return nil, err
	}
	sum := sha1.Sum([]byte(key + "258EAFA5-E914-47DA-95CA-C5AB0DC85B11")) // RFC 6455 section 1.3
	if res.StatusCode != http.StatusSwitchingProtocols || res.Header.Get("Sec-WebSocket-Accept") != base64.StdEncoding.EncodeToString(sum[:]) {
		return nil, fmt.Errorf("%s does not speak WebSocket: %s", address, res.Status)
	}
	return &socket{conn: conn, in: in}, nil
}

// The opcodes of RFC 6455 section 5.2.
const (
	opText  = 1
	opClose = 8
	opPing  = 9
	opPong  = 10
)

func (s *socket) send(op byte, body []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	head := []byte{0x80 | op}
	switch n := len(body); {
	case n < 126:
		head = append(head, 0x80|byte(n))
	case n < 1<<16:
		head = binary.BigEndian.AppendUint16(append(head, 0x80|126), uint16(n))
	default:
		head = binary.BigEndian.AppendUint64(append(head, 0x80|127), uint64(n))
	}
	mask := make([]byte, 4)
	_, _ = rand.Read(mask)
	head = append(head, mask...)
	for i, b := range body {
		head = append(head, b^mask[i%4])
	}
	_, err := s.conn.Write(head)
	return err
}

// receive gives the next whole text message.
func (s *socket) receive() ([]byte, error) {
	var message []byte
	for {
		var head [2]byte
		if _, err := io.ReadFull(s.in, head[:]); err != nil {
			return nil, err
		}
		n := uint64(head[1] & 0x7f)
		switch n {
		case 126, 127:
			long := make([]byte, map[uint64]int{126: 2, 127: 8}[n])
			if _, err := io.ReadFull(s.in, long); err != nil {
				return nil, err
			}
			n = 0
			for _, b := range long {
				n = n<<8 | uint64(b)
			}
		}
		if n > 64<<20 {
			return nil, errors.New("a message of more than 64 MiB")
		}
		body := make([]byte, n)
		if _, err := io.ReadFull(s.in, body); err != nil {
			return nil, err
		}
		switch head[0] & 0x0f {
		case opClose:
			return nil, io.EOF
		case opPing:
			if err := s.send(opPong, body); err != nil {
				return nil, err
			}
		case opPong:
		default:
			message = append(message, body...)
			if head[0]&0x80 != 0 {
				return message, nil
			}
		}
	}
}
