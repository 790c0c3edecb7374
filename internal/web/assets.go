package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
)

//go:embed assets
var assetFiles embed.FS

// assets are the embedded files under one checksum: when any of them changes, all addresses do,
// so a browser may keep them for ever and never mixes two versions.
type assets struct {
	prefix string // "/assets/<checksum>/"
	files  map[string]assetFile
}

type assetFile struct {
	media        string
	plain, small []byte
}

func loadAssets() *assets {
	a := &assets{files: map[string]assetFile{}}
	sum := sha256.New()
	add := func(name string, b []byte) {
		sum.Write([]byte(name))
		sum.Write(b)
		media := mime.TypeByExtension(path.Ext(name))
		if path.Ext(name) == ".js" {
			media = "text/javascript; charset=utf-8"
		}
		a.files[name] = assetFile{media: media, plain: b, small: packed(b)}
	}
	entries, err := fs.ReadDir(assetFiles, "assets")
	if err != nil {
		panic(err) // the folder is embedded
	}
	for _, e := range entries {
		b, err := fs.ReadFile(assetFiles, "assets/"+e.Name())
		if err != nil {
			panic(err)
		}
		add(e.Name(), b)
	}
	add("draw.css", []byte(draw.CSS))
	a.prefix = "/assets/" + hex.EncodeToString(sum.Sum(nil))[:12] + "/"
	return a
}

func packed(b []byte) []byte {
	var buf bytes.Buffer
	z, _ := gzip.NewWriterLevel(&buf, gzip.BestCompression)
	z.Write(b) // into memory: cannot fail
	z.Close()
	return buf.Bytes()
}

// asset serves one embedded file. An address with another checksum is of an older or newer
// program: it gets today's file, but is not to be kept.
func (s *server) asset(w http.ResponseWriter, r *http.Request) error {
	f, ok := s.assets.files[r.PathValue("name")]
	if !ok {
		return logbook.Errorf(logbook.NotFound, "there is no such file")
	}
	keep := "no-cache"
	if strings.HasPrefix(r.URL.Path, s.assets.prefix) {
		keep = "public, max-age=31536000, immutable"
	}
	h := w.Header()
	h.Set("Cache-Control", keep)
	h.Set("Content-Type", f.media)
	h.Set("Vary", "Accept-Encoding")
	if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		h.Set("Content-Encoding", "gzip")
		w.Write(f.small)
		return nil
	}
	w.Write(f.plain)
	return nil
}

// favicon sends the letter board of the site.
func (s *server) favicon(w http.ResponseWriter, r *http.Request) error {
	return send(w, r, http.StatusOK, "image/svg+xml", s.assets.files["icon.svg"].plain)
}
