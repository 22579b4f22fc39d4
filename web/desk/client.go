package desk

import "context"

// maxWaiting is how many messages a client may be behind before it is
// disconnected; it comes back and is sent what it missed.
const maxWaiting = 256

// Client is one window that has a pinning open.
type Client struct {
	desks      *Desks
	desk       *desk
	name       string
	tempo      float64 // at which it wants the findings
	out        chan any
	disconnect func()
}

// Messages are those for the client, in order.
func (c *Client) Messages() <-chan any { return c.out }

// Send queues a message. A client that does not keep up is disconnected.
func (c *Client) Send(message any) {
	select {
	case c.out <- message:
	default:
		c.disconnect()
	}
}

// Do does what the client asks. The answer is among its [Client.Messages]; an
// error is the caller's to send.
func (c *Client) Do(ctx context.Context, r Request) error {
	c.desk.mu.Lock()
	defer c.desk.mu.Unlock()
	return c.desk.do(ctx, c, r)
}

// Leave ends the client. The others hear of it.
func (c *Client) Leave(ctx context.Context) {
	d := c.desk
	d.mu.Lock()
	if _, was := d.clients[c]; was {
		delete(d.clients, c)
		if len(d.clients) > 0 {
			if err := d.sendState(ctx); err != nil {
				c.desks.log.Error("the clients of a pinning could not be told that one has left", "pinning", d.id, "error", err)
			}
		}
	}
	d.mu.Unlock()
	c.desks.release(d)
}
