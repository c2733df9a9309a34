// SPDX-License-Identifier: MIT
// Who is at work on a device, and what they may do. The choice is a cookie that only this book can have made for this
// device and this person.
#include "base/memory.h"
#include "base/text.h"
#include "book/care/backup.h"
#include "book/shop/settings.h"
#include "book/store/attachment.h"
#include "book/store/journal.h"
#include "web/server/person.h"
#include "web/server/private.h"
#include "web/server/words.h"

#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { PERSON_SECONDS = 16 * 3600 }; // after the last page: a long day
static const char cookie[] = "deckwright_person";

// What needs more or less than a technician's right; the first that fits counts. What stands nowhere is work.
static const struct {
    const char *method, *pattern;
    DwRight needs;
} needs[] = {
    {"POST", "/who", DW_RIGHT_COUNTER},
    {"POST", "/arriving", DW_RIGHT_COUNTER},
    {"POST", "/arriving/:key", DW_RIGHT_COUNTER},
    {"POST", "/enter", DW_RIGHT_COUNTER},
    {"POST", "/leave", DW_RIGHT_COUNTER},
    {"POST", "/lock", DW_RIGHT_COUNTER},
    {"POST", "/unlock", DW_RIGHT_COUNTER},
    {"POST", "/pair/:code", DW_RIGHT_COUNTER},
    {"POST", "/shop/type", DW_RIGHT_COUNTER},
    {"POST", "/shop/check", DW_RIGHT_TECHNICIAN},
    {"POST", "/shop/backup", DW_RIGHT_TECHNICIAN},
    {"POST", "/shop/:part", DW_RIGHT_OWNER},
    {"POST", "/shop/:part/:key", DW_RIGHT_OWNER},
    {"POST", "/shop/:part/:key/:act", DW_RIGHT_OWNER},
    {"POST", "/customer/:id/erase", DW_RIGHT_OWNER},
    {"POST", "/record/:entity/:id/merge", DW_RIGHT_OWNER},
    {"POST", "/job/:number/dispose", DW_RIGHT_OWNER},
    {"POST", "/job/new", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/accessories", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/acknowledge", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/invoice", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/invoice-visit", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/issue-estimate", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/issue-invoice", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/move", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/pay", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/photos", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/photos/frame", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/sign", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/take-in", DW_RIGHT_COUNTER},
    {"POST", "/job/:number/words/:paper", DW_RIGHT_COUNTER},
    {"POST", "/photo/:id", DW_RIGHT_COUNTER},
    {"POST", "/photo/:id/move", DW_RIGHT_COUNTER},
    {"POST", "/photo/:id/turn", DW_RIGHT_COUNTER},
};

// The kinds of record that the counter writes, and those that are the shop's own.
static const char *const of_counter[] = {"customer", "deck",          "ownership", "job",    "intake",  "accessory",
                                         "mark",     "contact",       "consent",   "notice", "invoice", "invoice_line",
                                         "estimate", "estimate_line", "payment",   NULL};
static const char *const of_owner[] = {"bound", "setting", "device", NULL};

static bool is_among(const char *const *names, const char *name)
{
    for (size_t i = 0; names[i]; i++)
        if (strcmp(names[i], name) == 0)
            return true;
    return false;
}

static DwRight right_of_record(const char *entity)
{
    return is_among(of_counter, entity) ? DW_RIGHT_COUNTER
           : is_among(of_owner, entity) ? DW_RIGHT_OWNER
                                        : DW_RIGHT_TECHNICIAN;
}

// Making two one and disposing of a deck are an owner's, whatever the record is. What a picture shows is the counter's
// to say (POST /photo/:id), though the picture as a whole is not.
static DwRight right_of_line(const DwJournalLine *line)
{
    if (strcmp(line->entity, dw_attachment_entity.name) == 0 && *line->field)
        return DW_RIGHT_COUNTER;
    bool merged = strncmp(line->new_value, DW_JOURNAL_MERGED, strlen(DW_JOURNAL_MERGED)) == 0;
    bool disposed = strcmp(line->entity, "job") == 0 && strcmp(line->new_value, "disposed of") == 0;
    return merged || disposed ? DW_RIGHT_OWNER : right_of_record(line->entity);
}

// Undoing takes the right that the change took: the greatest of its lines'.
static DwRight right_to_undo(const DwWebRequest *request)
{
    DwJournal journal;
    DwRight right = DW_RIGHT_COUNTER;
    if (dw_journal_between(request->book, dw_request_id(request, "first"), dw_request_id(request, "last"), &journal,
                           NULL) != DW_OK)
        return DW_RIGHT_OWNER;
    for (size_t i = 0; i < journal.count; i++)
        if (right_of_line(&journal.lines[i]) > right)
            right = right_of_line(&journal.lines[i]);
    dw_journal_clear(&journal);
    return right;
}

static DwRight right_for(const DwWebRequest *request, const DwWebRoute *route)
{
    for (size_t i = 0; i < sizeof needs / sizeof *needs; i++)
        if (strcmp(needs[i].method, route->method) == 0 && dw_incoming_fits(request->path, needs[i].pattern, NULL))
            return needs[i].needs;
    const char *entity = dw_request_path(request, "entity");
    if (*dw_request_path(request, "first"))
        return right_to_undo(request);
    return *entity ? right_of_record(entity) : DW_RIGHT_TECHNICIAN;
}

typedef struct {
    unsigned char bytes[crypto_generichash_KEYBYTES];
} Seed;

// What only this book has, as long as its password stands.
static Seed seed_of(const DwWebRequest *request)
{
    Seed seed;
    char *password = dw_settings_password_hash(request->book), *identity = dw_identity_read(request->book);
    char *key = dw_text_format("person %s %s", identity ? identity : "", password);
    crypto_generichash(seed.bytes, sizeof seed.bytes, (const unsigned char *)key, strlen(key), NULL, 0);
    sodium_memzero(key, strlen(key));
    free(password);
    free(identity);
    free(key);
    return seed;
}

enum { PROOF = 64, WORD = PROOF + 24 };

// The word by which REQUEST's device shows that PERSON was at work on it at AT (seconds since 1970): no other device
// and no other book can make it, and it ends with the right that the person had.
static void prove(const DwWebRequest *request, const Seed *seed, const DwPerson *person, int64_t at, char word[WORD])
{
    unsigned char bytes[PROOF / 2];
    char *what =
        dw_text_format("%s %s %lld %s", request->token, dw_right_word(person->right), (long long)at, person->name);
    crypto_generichash(bytes, sizeof bytes, (const unsigned char *)what, strlen(what), seed->bytes, sizeof seed->bytes);
    sodium_bin2hex(word, PROOF + 1, bytes, sizeof bytes);
    snprintf(word + PROOF, WORD - PROOF, ".%lld", (long long)at);
    free(what);
}

// When the word GIVEN was made; 0 for what is none, or has ended. A browser's own clock and memory do not count. One
// from a little ahead was made before this computer's clock was put right.
static int64_t made_at(const char *given)
{
    if (!given || strlen(given) <= PROOF || strlen(given) >= WORD || given[PROOF] != '.')
        return 0;
    int64_t at = strtoll(given + PROOF + 1, NULL, 10), now = (int64_t)time(NULL);
    return at > now - PERSON_SECONDS && at < now + PERSON_SECONDS ? at : 0;
}

void dw_person_name_device(const DwWebRequest *request, const char *device)
{
    char *name = dw_text_format(request->people->count ? _("%s (device)") : "%s", device);
    dw_book_set_actor(request->book, name);
    free(name);
}

void dw_person_look(DwWebRequest *request)
{
    const char *given = dw_pairs_find(&request->incoming->cookies, cookie);
    int64_t at = made_at(given);
    request->person = NULL;
    dw_people_read(request->book, request->people);
    if (!request->people->count)
        return;
    Seed seed = seed_of(request);
    for (size_t i = 0; at && !request->person && i < request->people->count; i++) {
        char word[WORD];
        prove(request, &seed, &request->people->list[i], at, word);
        if (strlen(word) == strlen(given) && sodium_memcmp(word, given, strlen(word)) == 0)
            request->person = &request->people->list[i];
    }
    if (request->person)
        dw_book_set_actor(request->book, request->person->name);
    else
        dw_person_name_device(request, request->device);
}

void dw_person_choose(const DwWebRequest *request, const DwPerson *person, DwAnswer *answer)
{
    char word[WORD] = "";
    Seed seed = seed_of(request);
    if (person)
        prove(request, &seed, person, (int64_t)time(NULL), word);
    dw_answer_cookie(answer, cookie, word, PERSON_SECONDS, request->secure);
}

void dw_person_renew(const DwWebRequest *request, DwAnswer *answer)
{
    for (size_t i = 0; i < answer->headers.count; i++)
        if (strncmp(answer->headers.pairs[i].value, cookie, sizeof cookie - 1) == 0)
            return; // another was chosen
    if (request->person)
        dw_person_choose(request, request->person, answer);
}

bool dw_person_may(const DwWebRequest *request, const DwWebRoute *route, DwAnswer *refusal)
{
    static const char *const wanted[] = {
        [DW_RIGHT_COUNTER] = "",
        [DW_RIGHT_TECHNICIAN] =
            N_("That is a technician's to do. Nothing was changed: say who is at work, then send it "
               "again."),
        [DW_RIGHT_OWNER] = N_("That is an owner's to do. Nothing was changed: say who is at work, then send it again."),
    };
    if (!request->people->count || strcmp(route->method, "POST") != 0)
        return true;
    // Who has not said who it is works as whoever came by, but does not change the shop.
    DwRight has = request->person ? request->person->right : DW_RIGHT_TECHNICIAN, asked = right_for(request, route);
    if (has >= asked)
        return true;
    *refusal = dw_answer_refusal_at("/who", 403, dw_words(wanted[asked]));
    return false;
}
