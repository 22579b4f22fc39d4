// Package visitors serves the pages of what visitors get: programmes with their
// cards and the visitors' screen, tempo windows, the crank and noise.
package visitors
