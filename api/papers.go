package api

import "context"

// LoadSheet is the paper that goes with a truck, as a PDF. Paper is letter or a4, "" the server's.
func (c *Client) LoadSheet(ctx context.Context, number, paper string) ([]byte, error) {
	return c.file(ctx, at("loads", number, "sheet.pdf"), values("paper", paper))
}

// TracePDF is a trace as a paper: where everything is, whom to call, and each bundle.
func (c *Client) TracePDF(ctx context.Context, q, paper string) ([]byte, error) {
	return c.file(ctx, "/trace.pdf", values("q", q, "paper", paper))
}
