// Package page is what all pages share: the frame around a page, how an error
// becomes an answer, how forms, files and JSON are read, the addresses of
// pages, and the views that more than one area shows.
//
// An area of pages is a package of its own. It exports one function,
//
//	func Routes(r chi.Router, kit *page.Kit)
//
// which adds its addresses to the router. Its handlers return an error;
// [Kit.Page] and [Kit.Data] turn that into a status and a sentence. Areas know
// this package and not each other.
package page
