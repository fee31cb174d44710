package browsertest

import (
	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"
)

// Quota makes the browser give the origin so many bytes and no more; a negative number takes the limit away again.
func (p *Page) Quota(origin string, bytes float64) {
	p.t.Helper()
	params := storage.OverrideQuotaForOriginParams{Origin: origin}
	if bytes >= 0 {
		params.QuotaSize = &bytes
	}
	if _, err := chromedp.Call(p.ctx, storage.OverrideQuotaForOrigin, params); err != nil {
		p.t.Fatalf("quota of %s: %v", origin, err)
	}
}

// Forget removes everything that the origin has stored, as a browser does that runs out of space: databases, caches,
// workers and all.
func (p *Page) Forget(origin string) {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, storage.ClearDataForOrigin, storage.ClearDataForOriginParams{Origin: origin, StorageTypes: "all"}); err != nil {
		p.t.Fatalf("forget %s: %v", origin, err)
	}
}
