// SPDX-License-Identifier: MIT
#include "web/server/answer.h"

#include "base/memory.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>

void dw_answer_clear(DwAnswer *answer)
{
    dw_pairs_clear(&answer->headers);
    free(answer->bytes);
    *answer = (DwAnswer){0};
}

void dw_answer_body(DwAnswer *answer, unsigned status, char *bytes, size_t length)
{
    free(answer->bytes);
    answer->status = status;
    answer->bytes = bytes;
    answer->length = length;
}

DwAnswer dw_answer_copy(const DwAnswer *from)
{
    DwAnswer copy = {.status = from->status, .length = from->length};
    for (size_t i = 0; i < from->headers.count; i++)
        dw_pairs_add(&copy.headers, from->headers.pairs[i].name, from->headers.pairs[i].value);
    if (from->bytes) {
        copy.bytes = dw_memory_new(from->length + 1, 1);
        memcpy(copy.bytes, from->bytes, from->length);
    }
    return copy;
}

void dw_answer_cookie(DwAnswer *answer, const char *name, const char *value, unsigned seconds, bool secure)
{
    DwText text = {0};
    dw_text_add(&text, "%s=%s; Path=/; HttpOnly; SameSite=Strict", name, value);
    if (seconds)
        dw_text_add(&text, "; Max-Age=%u", seconds);
    if (secure)
        dw_text_add(&text, "; Secure");
    dw_pairs_add(&answer->headers, "Set-Cookie", text.chars);
    dw_text_clear(&text);
}
