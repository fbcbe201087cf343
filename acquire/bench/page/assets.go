package page

import (
	"embed"
	"io/fs"
	"net/http"
	"path"
	"strings"
)

//go:embed assets
var assets embed.FS

// kinds are the media types of the assets, so that they do not depend on what
// the machine believes.
var kinds = map[string]string{
	".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml",
}

// asset serves one embedded file.
func (s *Server) asset(w http.ResponseWriter, r *http.Request) {
	s.file(w, r, strings.TrimPrefix(r.URL.Path, "/assets/"))
}

// document serves the page itself; its script looks at the path.
func (s *Server) document(w http.ResponseWriter, r *http.Request) { s.file(w, r, "index.html") }

func (s *Server) file(w http.ResponseWriter, r *http.Request, name string) {
	kind := kinds[path.Ext(name)]
	text, err := fs.ReadFile(assets, "assets/"+name)
	if err != nil || kind == "" {
		refuse(w, http.StatusNotFound, "there is no such page; the bench is at /vise, the view for others at /", 0)
		return
	}
	w.Header().Set("Content-Type", kind)
	if r.Method != http.MethodHead {
		_, _ = w.Write(text) // a browser that is gone needs nothing
	}
}
