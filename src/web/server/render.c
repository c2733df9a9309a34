// SPDX-License-Identifier: MIT
#include "web/server/private.h"

#include "base/memory.h"
#include "base/quantity.h"
#include "web/server/words.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

static void put_bytes(DwAnswer *answer, const char *type, unsigned status, char *bytes, size_t length)
{
    dw_answer_tell(answer, "Content-Type", type);
    free(answer->bytes);
    answer->kind = DW_ANSWER_BYTES;
    answer->status = status;
    answer->bytes = bytes;
    answer->length = length;
}

// What a page's script is told.
static void put_words(DwAnswer *answer, const char *words)
{
    bool kept = answer->kind == DW_ANSWER_KEPT;
    json_t *object = json_pack("{s:b, s:s}", "kept", kept, "words", words);
    if (!object) // the words hold what the book holds, and that may be older than the check of what is sent
        object = json_pack("{s:b, s:s}", "kept", kept, "words", _("What was sent is no text."));
    if (answer->undo) {
        json_object_set_new(object, "undo", json_string(answer->undo));
        json_object_set_new(object, "act", json_string(answer->act));
        json_object_set_new(object, "revision", json_integer(answer->revision));
    }
    char *text = json_dumps(object, 0);
    json_decref(object);
    put_bytes(answer, "application/json", kept ? 200 : answer->status, text, strlen(text));
}

static void go(DwAnswer *answer)
{
    dw_answer_tell(answer, "Location", answer->place);
    answer->kind = DW_ANSWER_BYTES;
    answer->status = 303;
}

static void refuse(const DwWebRequest *request, DwAnswer *answer)
{
    char *named = dw_quantity_words(answer->words), *words = dw_veil(request, named);
    free(named);
    if (dw_request_by_script(request))
        put_words(answer, words);
    else {
        DwAnswer page = request->site->draw_refusal(request, answer, words);
        put_bytes(answer, dw_pairs_find(&page.headers, "Content-Type"), answer->status, page.bytes, page.length);
        page.bytes = NULL; // the answer's now
        dw_answer_clear(&page);
    }
    free(words);
}

void dw_render(const DwWebRequest *request, DwAnswer *answer)
{
    switch (answer->kind) {
    case DW_ANSWER_BYTES:
        break;
    case DW_ANSWER_GO:
        go(answer);
        break;
    case DW_ANSWER_KEPT:
        if (dw_request_by_script(request))
            put_words(answer, answer->words);
        else
            go(answer);
        break;
    case DW_ANSWER_REFUSED:
        refuse(request, answer);
        break;
    }
}
