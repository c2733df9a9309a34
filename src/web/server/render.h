// SPDX-License-Identifier: MIT
// The edge: what was answered to VISIT becomes what is sent.
#ifndef DW_WEB_RENDER_H
#define DW_WEB_RENDER_H

#include "web/server/visit.h"

// Makes ANSWER the bytes, the status and the headers that go out. While it is drawn a
// refusal may look at the visit's book, of which it names no place to who is away.
void dw_render(DwVisit *visit, DwAnswer *answer);

#endif
