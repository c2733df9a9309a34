// SPDX-License-Identifier: MIT
// Posted forms: the first line is the Content-Type, the rest the body. Where its pieces end changes nothing.
#include "base/text.h"
#include "target.h"
#include "web/server/body.h"

typedef struct {
    size_t files, bytes;
} Sent;

static void begin(void *context, const char *field, const char *name)
{
    TARGET_HOLDS(field && name);
    ((Sent *)context)->files++;
}

static void more(void *context, const char *bytes, size_t length)
{
    (void)bytes;
    ((Sent *)context)->bytes += length;
}

// The body in pieces of PIECE bytes; SENT is what of it went into files.
static DwBody *read_in(const char *type, const char *bytes, size_t length, size_t piece, Sent *sent)
{
    *sent = (Sent){0, 0};
    DwBody *body = dw_body_new(type, (DwBodyFiles){begin, more, sent});
    for (size_t at = 0; at < length; at += piece)
        dw_body_push(body, bytes + at, length - at < piece ? length - at : piece);
    dw_body_end(body);
    return body;
}

static void hold_same(const DwPairs *a, const DwPairs *b)
{
    TARGET_HOLDS(a->count == b->count);
    for (size_t i = 0; i < a->count; i++) {
        TARGET_HOLDS(strcmp(a->pairs[i].name, b->pairs[i].name) == 0);
        TARGET_HOLDS(strcmp(a->pairs[i].value, b->pairs[i].value) == 0);
        TARGET_HOLDS(dw_text_is_utf8(a->pairs[i].value, strlen(a->pairs[i].value)));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    char *text = target_text(bytes, count);
    size_t line = strcspn(text, "\n"), head = line < count ? line + 1 : count;
    text[line] = 0;
    Sent whole, cut;
    DwBody *once = read_in(text, text + head, count - head, count + 1, &whole);
    DwBody *again = read_in(text, text + head, count - head, 1 + count % 7, &cut);
    DwBodyState state = dw_body_end(once);
    TARGET_HOLDS(state == dw_body_end(again) && state == dw_body_end(once));
    if (state == DW_BODY_WHOLE) {
        hold_same(dw_body_fields(once), dw_body_fields(again));
        TARGET_HOLDS(whole.files == cut.files && whole.bytes == cut.bytes && whole.bytes <= count);
    }
    dw_body_free(once);
    dw_body_free(again);
    free(text);
    return 0;
}
