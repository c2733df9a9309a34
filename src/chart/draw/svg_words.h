// SPDX-License-Identifier: MIT
// An SVG document's title and description for those who do not see it.
#ifndef DW_CHART_SVG_WORDS_H
#define DW_CHART_SVG_WORDS_H

#include "base/text.h"

// SVG, a document with an <svg …> element, as a new text with role="img", a
// <title> and a <desc>. The caller frees it with free().
char *dw_svg_words_insert(const char *svg, const char *title, const char *description);

#endif
