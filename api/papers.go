package api

import (
	"context"
	"net/http"
)

// LoadSheet is the paper that goes with a truck, as a PDF. Paper is letter or a4, "" the server's.
func (c *Client) LoadSheet(ctx context.Context, number, paper string) ([]byte, error) {
	b, _, err := c.do(ctx, call{method: http.MethodGet, path: at("loads", number, "sheet.pdf"), query: values("paper", paper)})
	return b, err
}

// TracePDF is a trace as a paper: where everything is, whom to call, and each bundle.
func (c *Client) TracePDF(ctx context.Context, q, paper string) ([]byte, error) {
	b, _, err := c.do(ctx, call{method: http.MethodGet, path: "/trace.pdf", query: values("q", q, "paper", paper)})
	return b, err
}
