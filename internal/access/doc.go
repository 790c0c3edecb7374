// Package access says who may do what. It knows roles, paired devices, one-time pairing codes,
// guest links, passwords and the rule of every route; it knows no network, no clock and no file.
// What is secret (codes, link tokens, passwords) is stored only as a hash.
package access
