// Package web serves the book as pages: server-rendered, readable without scripts, printable,
// usable with a keyboard and at phone width. Scripts are plain modules that add to a page what
// paper cannot do; styles live in one sheet of custom properties (assets/app.css) on top of the
// drawings' own look (draw.CSS).
//
// # How to add a page
//
//  1. A file named after the action (lesson_run.go) with a handler
//     func (s *server) lessonRun(w http.ResponseWriter, r *http.Request) error
//     that reads the request, asks s.book, fills a typed struct of the page and calls
//     s.render(w, r, status, component). Errors are returned: respond.go turns their code into
//     a status and a page that says what to do.
//  2. A template beside it (lesson_run.templ) that takes that struct and begins with
//     @layout(v.page) { ... }. Run "go generate ./internal/web" and commit the generated file.
//     No inline script, no inline style, nothing from another host: the content security policy
//     refuses them.
//  3. A line in the route table (routes.go), or in a func of your own file that routes() appends:
//     method, pattern, rule, what the request is about (for the rule), handler. A route without
//     a known rule does not start the program.
//  4. Assets go into assets/; assetURL("name") gives their address, which changes when any asset
//     changes. A module imports its neighbours by "./name.js".
//  5. A case in TestEveryPageRenders (pages_test.go) with canned data, and a look at the page at
//     390 and 1280 pixels, light and dark.
//
// Names shown to people come from the book as they are; templ escapes them. Drawings are the
// only raw markup, and draw escapes what it writes.
package web

//go:generate sh -c "cd ../.. && go tool -modfile=tools.mod templ generate"
