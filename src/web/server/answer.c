// SPDX-License-Identifier: MIT
#include "web/server/answer.h"

#include "base/memory.h"
#include "base/text.h"

#include <sodium.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void dw_answer_clear(DwAnswer *answer)
{
    dw_pairs_clear(&answer->headers);
    free(answer->bytes);
    free(answer->words);
    free(answer->place);
    free(answer->undo);
    free(answer->act);
    free(answer->session);
    *answer = (DwAnswer){0};
}

static char *copy_text(const char *text)
{
    return text ? dw_memory_text(text) : NULL;
}

DwAnswer dw_answer_copy(const DwAnswer *from)
{
    DwAnswer copy = {.kind = from->kind,
                     .status = from->status,
                     .asks = from->asks,
                     .length = from->length,
                     .words = copy_text(from->words),
                     .place = copy_text(from->place),
                     .undo = copy_text(from->undo),
                     .act = copy_text(from->act),
                     .revision = from->revision,
                     .session = copy_text(from->session),
                     .session_seconds = from->session_seconds};
    for (size_t i = 0; i < from->headers.count; i++)
        dw_pairs_add(&copy.headers, from->headers.pairs[i].name, from->headers.pairs[i].value);
    if (from->bytes) {
        copy.bytes = dw_memory_new(from->length + 1, 1);
        memcpy(copy.bytes, from->bytes, from->length);
    }
    return copy;
}

DwAnswer dw_answer_bytes(const char *type, char *bytes, size_t length)
{
    DwAnswer answer = {.kind = DW_ANSWER_BYTES, .bytes = bytes, .length = length};
    dw_answer_tell(&answer, "Content-Type", type);
    return answer;
}

DwAnswer dw_answer_bytes_for(const char *type, char *bytes, size_t length, unsigned seconds)
{
    DwAnswer answer = dw_answer_bytes(type, bytes, length);
    char *words = dw_text_format("private, max-age=%u", seconds);
    dw_answer_tell(&answer, "Cache-Control", words);
    free(words);
    return answer;
}

DwAnswer dw_answer_bytes_asked(const char *type, char *bytes, size_t length)
{
    unsigned char hash[crypto_generichash_BYTES_MIN];
    char word[2 * sizeof hash + 1];
    crypto_generichash(hash, sizeof hash, (const unsigned char *)bytes, length, NULL, 0);
    sodium_bin2hex(word, sizeof word, hash, sizeof hash);
    char *tag = dw_text_format("\"%s\"", word);
    DwAnswer answer = dw_answer_bytes(type, bytes, length);
    dw_answer_tell(&answer, "Cache-Control", "private, no-cache");
    dw_answer_tell(&answer, "ETag", tag);
    free(tag);
    return answer;
}

void dw_answer_unchanged(DwAnswer *answer, const char *known)
{
    const char *tag = dw_pairs_find(&answer->headers, "ETag");
    bool plain = answer->kind == DW_ANSWER_BYTES && (answer->status == 0 || answer->status == 200);
    if (!plain || !tag || !strstr(known, tag))
        return;
    free(answer->bytes);
    answer->bytes = NULL;
    answer->length = 0;
    answer->status = 304;
}

DwAnswer dw_answer_go(const char *format, ...)
{
    DwAnswer answer = {.kind = DW_ANSWER_GO};
    va_list list;
    va_start(list, format);
    if (vasprintf(&answer.place, format, list) < 0)
        abort(); // docs/decisions/0002
    va_end(list);
    return answer;
}

DwAnswer dw_answer_kept(const char *words, const char *place)
{
    return (DwAnswer){.kind = DW_ANSWER_KEPT, .words = dw_memory_text(words), .place = dw_memory_text(place)};
}

DwAnswer dw_answer_refusal(unsigned status, const char *words)
{
    return (DwAnswer){.kind = DW_ANSWER_REFUSED, .status = status, .words = dw_memory_text(words)};
}

DwAnswer dw_answer_refusal_at(const char *place, unsigned status, const char *words)
{
    DwAnswer answer = dw_answer_refusal(status, words);
    answer.place = dw_memory_text(place);
    return answer;
}

DwAnswer dw_answer_trouble(DwStatus status, const DwMessage *message)
{
    return dw_answer_refusal(status == DW_BAD_INPUT ? 400 : 500, dw_message_said(message));
}

void dw_answer_session(DwAnswer *answer, const char *token, unsigned seconds)
{
    free(answer->session);
    answer->session = dw_memory_text(token);
    answer->session_seconds = seconds;
}

void dw_answer_tell(DwAnswer *answer, const char *name, const char *value)
{
    dw_pairs_put(&answer->headers, name, value);
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

void dw_answer_done(DwAnswer *answer, const char *word, bool secure)
{
    char *text = dw_text_format("deckwright-done=%s; Path=/; SameSite=Strict%s", word, secure ? "; Secure" : "");
    dw_pairs_add(&answer->headers, "Set-Cookie", text);
    free(text);
}

bool dw_answer_is_word(const char *word)
{
    return dw_text_is_figures(word, 32);
}
