// SPDX-License-Identifier: MIT
// The one writer of HTML. Whatever is text or an attribute's value is escaped
// here, so that nothing typed by anybody can become markup.
//
//     DwHtml *html = dw_html_new();
//     dw_html_open(html, "p", "class", "quiet", NULL);
//     dw_html_text(html, customer->name);
//     dw_html_close(html, "p");
#ifndef DW_WEB_HTML_H
#define DW_WEB_HTML_H

#include <stdbool.h>
#include <stddef.h>

typedef struct DwHtml DwHtml;

// An empty page. The caller frees it with dw_html_free().
DwHtml *dw_html_new(void);
void dw_html_free(DwHtml *html);

// Opens <TAG>; after it pairs of an attribute's name and value, NULL last. A
// value of DW_HTML_BARE writes the name alone ("required"); a NULL value cannot
// be told from the end, so use DW_HTML_NONE for an attribute to leave out.
void dw_html_open(DwHtml *html, const char *tag, ...) __attribute__((sentinel));
// Closes the element opened last, which must be a TAG.
void dw_html_close(DwHtml *html, const char *tag);
// An element that has no content: input, img, link, meta, br, hr.
void dw_html_void(DwHtml *html, const char *tag, ...) __attribute__((sentinel));
// An element with TEXT in it.
void dw_html_element(DwHtml *html, const char *tag, const char *text, ...) __attribute__((sentinel));

extern const char DW_HTML_BARE[];
extern const char DW_HTML_NONE[];
// A condition as an attribute's value.
#define DW_HTML_IF(condition) ((condition) ? DW_HTML_BARE : DW_HTML_NONE)

// Add text, escaped; the second formatted as by printf.
void dw_html_text(DwHtml *html, const char *text);
void dw_html_format(DwHtml *html, const char *format, ...) __attribute__((format(printf, 2, 3)));

// Hands the whole over when every element is closed; HTML is empty after it.
// The caller frees the characters with free().
char *dw_html_take(DwHtml *html, size_t *length);

#endif
