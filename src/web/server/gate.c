// SPDX-License-Identifier: MIT
// What every request passes before a page sees it: the host it was sent to, the
// site it came from, the session, the form token.
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/device.h"
#include "web/server/person.h"
#include "web/server/private.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_HEAD = 16 << 10, MOST_ADDRESS = 4 << 10 }; // bytes, of all headers and of a page's address
enum { DEVICE_SECONDS = 400 * 86400 }; // a paired device stays paired; browsers keep no cookie for longer

static const char *header(const DwIncoming *incoming, const char *name)
{
    return dw_incoming_header(incoming, name);
}

// A browser says from which site a form was posted.
static bool origin_is_ours(const DwServer *server, const DwIncoming *incoming)
{
    const char *origin = header(incoming, "Origin"), *site = header(incoming, "Sec-Fetch-Site");
    if (*site && strcmp(site, "same-origin") != 0 && strcmp(site, "none") != 0)
        return false;
    if (!*origin)
        return true; // no browser of today posts across sites without it; the form token is asked all the same
    const char *scheme = server->secure ? "https://" : "http://";
    size_t length = strlen(scheme);
    return strncasecmp(origin, scheme, length) == 0 && strcasecmp(origin + length, header(incoming, "Host")) == 0;
}

// Whether PAGE, a Referer, is an address of ours.
static bool is_our_address(const DwServer *server, const DwIncoming *incoming, const char *page)
{
    const char *scheme = server->secure ? "https://" : "http://", *host = header(incoming, "Host");
    size_t length = strlen(scheme), host_length = strlen(host);
    return strncasecmp(page, scheme, length) == 0 && strncasecmp(page + length, host, host_length) == 0 &&
           (page[length + host_length] == '/' || page[length + host_length] == '\0');
}

// Whether a page of another site has the browser ask. One of old age says only, if
// at all, which page that was.
static bool is_foreign(const DwServer *server, const DwIncoming *incoming)
{
    const char *site = header(incoming, "Sec-Fetch-Site"), *page = header(incoming, "Referer");
    if (*site || *header(incoming, "Origin"))
        return !origin_is_ours(server, incoming);
    return *page && !is_our_address(server, incoming, page);
}

// A link elsewhere may lead to the board and no further: whatever else another
// site has a browser ask for, a picture, a frame, a page, it is not given, though
// the browser may sit at this computer or hold a paired device's token.
static bool may_come(const DwServer *server, const DwIncoming *incoming)
{
    if (!is_foreign(server, incoming))
        return true;
    const char *how = header(incoming, "Sec-Fetch-Mode"), *what = header(incoming, "Sec-Fetch-Dest");
    return (!*how || strcmp(how, "navigate") == 0) && (!*what || strcmp(what, "document") == 0) &&
           !*header(incoming, "Origin") && strcmp(incoming->method, "POST") != 0 && strcmp(incoming->path, "/") == 0;
}

DwAccess *dw_gate_access(const DwWebRequest *request)
{
    return request->server->access;
}

char *dw_gate_outside(const DwWebRequest *request)
{
    if (request->local)
        return dw_host_outside(request->server);
    // The name by which this device came is good for the next one too.
    return dw_text_format("%s://%s", request->secure ? "https" : "http", dw_request_header(request, "Host"));
}

char *dw_gate_called(const DwWebRequest *request)
{
    return dw_host_called(request->server);
}

uint64_t dw_gate_who(const DwWebRequest *request)
{
    // A device's number stands above what an address can be.
    return request->device_id ? (uint64_t)request->device_id << 32 : request->incoming->client;
}

// A connection from this computer that calls it so. What another program here
// passes on for somebody else comes from this computer too, but says so.
static bool at_this_computer(const DwServer *server, const DwIncoming *incoming)
{
    static const char *const passed_on[] = {"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-IP", "Via"};
    for (size_t i = 0; i < sizeof passed_on / sizeof *passed_on; i++)
        if (dw_pairs_find_case(&incoming->headers, passed_on[i]))
            return false;
    return incoming->client >> 24 == 127 && dw_host_is_loopback(server, header(incoming, "Host"));
}

// A session's token and a paired device's have cookies of their own: a link on another
// site has the browser come without any, and the session that is begun then must not
// take the place of the device's token. Under TLS the name's beginning has browsers
// refuse one that was set without it.
static const char *cookie_name(const DwServer *server, bool paired)
{
    if (server->secure)
        return paired ? "__Host-deckwright" : "__Host-deckwright-session";
    return paired ? "deckwright" : "deckwright-session";
}

static const char *token_in(const DwServer *server, const DwIncoming *incoming, bool paired)
{
    const char *token = dw_pairs_find(&incoming->cookies, cookie_name(server, paired));
    return token && dw_text_is_figures(token, 64) ? token : "";
}

static const char *session(const DwServer *server, const DwIncoming *incoming)
{
    const char *token = token_in(server, incoming, true);
    return *token ? token : token_in(server, incoming, false);
}

// Whether TOKEN is a paired device's; then its number and NAME, and it is noted as seen.
static bool is_paired(DwBook *book, const char *token, int64_t *number, char name[80])
{
    char hash[65];
    DwDevice device;
    dw_access_hash(token, hash);
    dw_record_init(&device.record, &dw_device_entity);
    bool paired = *token && dw_device_find_by_hash(book, hash, &device, NULL) == DW_OK;
    if (paired) {
        *number = device.record.id;
        snprintf(name, 80, "%s", device.name);
        // That the note fails is no reason to keep the device out: a full disk must still be readable.
        dw_device_seen(book, device.record.id, NULL);
    }
    dw_record_clear(&device.record);
    return paired;
}

bool dw_gate_admits(DwServer *server, const DwIncoming *incoming)
{
    const char *token = session(server, incoming);
    if (!dw_host_is_ours(server, header(incoming, "Host")) || !origin_is_ours(server, incoming) || !*token)
        return false;
    if (at_this_computer(server, incoming))
        return true;
    DwBook *book;
    int64_t number;
    char name[80];
    if (dw_server_lend_book(server, &book, NULL) != DW_OK)
        return false;
    bool paired = is_paired(book, token, &number, name);
    dw_server_return_book(server, book);
    return paired;
}

static void add_headers(const DwServer *server, DwAnswer *answer)
{
    static const char *const headers[][2] = {
        {"Content-Security-Policy",
         "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' blob: data:; connect-src 'self'; "
         "media-src 'self' blob:; manifest-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"},
        {"X-Content-Type-Options", "nosniff"},
        {"X-Frame-Options", "DENY"}, // for browsers that do not know frame-ancestors
        {"Referrer-Policy", "same-origin"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
        {"Permissions-Policy", "camera=(self), microphone=(), geolocation=()"},
    };
    // What is no page may say for itself what it needs.
    for (size_t i = 0; i < sizeof headers / sizeof *headers; i++)
        if (!dw_pairs_find(&answer->headers, headers[i][0]))
            dw_pairs_put(&answer->headers, headers[i][0], headers[i][1]);
    if (server->secure) // browsers complain of it elsewhere
        dw_pairs_put(&answer->headers, "Cross-Origin-Opener-Policy", "same-origin");
    if (!dw_pairs_find(&answer->headers, "Cache-Control"))
        dw_pairs_put(&answer->headers, "Cache-Control", "no-store");
}

static void send_session(const DwWebRequest *request, DwAnswer *answer)
{
    bool paired = request->device_id;
    dw_person_renew(request, answer);
    if (answer->session)
        dw_answer_cookie(answer, cookie_name(request->server, answer->session_seconds > 0), answer->session,
                         answer->session_seconds, request->secure);
    // A paired device's time begins anew with each page; a session's lasts as it is.
    else if (request->new_token || paired)
        dw_answer_cookie(answer, cookie_name(request->server, paired), request->token, paired ? DEVICE_SECONDS : 0,
                         request->secure);
}

DwAnswer dw_gate_pair(const DwWebRequest *request, const char *name, const char *place)
{
    char token[65], hash[65];
    DwMessage message;
    dw_access_token(token);
    dw_access_hash(token, hash);
    DwStatus status = dw_device_add(request->book, name, hash, NULL, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    DwAnswer answer = dw_answer_go("%s", place);
    dw_answer_session(&answer, token, DEVICE_SECONDS);
    return answer;
}

static void begin_session(DwWebRequest *request)
{
    snprintf(request->token, sizeof request->token, "%s", session(request->server, request->incoming));
    request->new_token = !*request->token;
    if (request->new_token)
        dw_access_token(request->token);
    dw_access_form_token(request->server->access, request->token, request->form_token);
}

static bool is_post(const DwWebRequest *request)
{
    return request->incoming->body != NULL;
}

// What is wrong with a posted form's body, and HTTP's STATUS for it; NULL when
// nothing is. The caller frees it with free().
static char *wrong_with_body(DwWebRequest *request, unsigned *status)
{
    DwIncoming *incoming = request->incoming;
    *status = 400;
    switch (dw_body_end(incoming->body)) {
    case DW_BODY_WHOLE:
        break;
    case DW_BODY_NO_FORM:
        *status = 415;
        return dw_memory_text(_("The bench takes forms, and this was none. Nothing was changed."));
    case DW_BODY_NO_MARK:
        return dw_memory_text(_("The form does not say how its parts are told apart. Nothing was changed: reload the "
                                "page and send it again."));
    case DW_BODY_TOO_LARGE:
        *status = 413;
        return dw_memory_text(_("That is more than a form may hold. Nothing was changed: send it in parts."));
    case DW_BODY_NO_TEXT:
        return dw_text_format(
            _("What came in the field \"%.60s\" is no text (UTF-8). Nothing was changed: type it anew "
              "and send it again."),
            dw_body_wrong(incoming->body));
    case DW_BODY_TWICE:
        return dw_text_format(_("The field \"%.60s\" came twice. Nothing was changed: reload the page and send it "
                                "again."),
                              dw_body_wrong(incoming->body));
    case DW_BODY_BROKEN:
        return dw_memory_text(_("The form did not come whole. Nothing was changed: send it again."));
    }
    *status = 413;
    if (incoming->uploads.refused)
        return dw_memory_text(_("A file could not be taken: it is over 2 GB, there are more than 32, or the disk is "
                                "full. Nothing was changed."));
    return NULL;
}

// What is wrong with a posted form; as wrong_with_body().
static char *wrong_with_post(DwWebRequest *request, unsigned *status)
{
    *status = 403;
    if (!origin_is_ours(request->server, request->incoming))
        return dw_memory_text(_("The form came from another site. Nothing was changed."));
    char *wrong = wrong_with_body(request, status);
    if (wrong)
        return wrong;
    *status = 403;
    const char *form_token = dw_request_field(request, "form_token");
    if (!*form_token)
        form_token = dw_request_header(request, "Deckwright-Form-Token");
    if (!dw_access_fits_form(request->server->access, request->token, form_token))
        return dw_memory_text(_(
            "The page was too old, or the bench was started again. Nothing was changed: reload the page and repeat."));
    return NULL;
}

// Whoever is not known is shown the door, and comes back to where it wanted to go.
static DwAnswer send_to_door(DwWebRequest *request)
{
    const char *path = request->path;
    if (is_post(request) || dw_request_by_script(request))
        return dw_answer_refusal(401, _("This device is not known to the shop. Nothing was changed."));
    if (path && strcmp(path, "/") != 0 && dw_gate_is_page(request, path))
        return dw_answer_go("/enter?to=%s", path);
    return dw_answer_go("/enter");
}

static void hash_text(crypto_generichash_state *hash, const char *text)
{
    crypto_generichash_update(hash, (const unsigned char *)text, strlen(text) + 1);
}

// What makes a posted form the act it is: whose it is, where it goes, all that it brings.
// False when it has no word that says so.
static bool key_of_act(const DwWebRequest *request, DwOnceKey *key)
{
    DwIncoming *incoming = request->incoming;
    if (!incoming->body || !*dw_request_field(request, "once"))
        return false;
    crypto_generichash_state hash;
    crypto_generichash_init(&hash, NULL, 0, sizeof key->bytes);
    hash_text(&hash, request->token);
    hash_text(&hash, dw_request_by_script(request) ? "script" : "page");
    hash_text(&hash, incoming->address);
    const char *name, *value;
    for (size_t i = 0; dw_request_field_at(request, i, &name, &value); i++) {
        hash_text(&hash, name);
        hash_text(&hash, value);
    }
    for (size_t i = 0; i < incoming->uploads.count; i++) {
        crypto_generichash_state content = *incoming->uploads.files[i].hash;
        unsigned char bytes[crypto_generichash_BYTES];
        crypto_generichash_final(&content, bytes, sizeof bytes);
        crypto_generichash_update(&hash, bytes, sizeof bytes);
        hash_text(&hash, incoming->uploads.files[i].field);
        hash_text(&hash, incoming->uploads.files[i].name);
    }
    crypto_generichash_final(&hash, key->bytes, sizeof key->bytes);
    return true;
}

static void give_back(DwWebRequest *request)
{
    if (request->book)
        dw_server_return_book(request->server, request->book);
    request->book = NULL;
}

// A second tap on the same form is answered as the first was, the session it may have given included.
static DwAnswer act(DwWebRequest *request, const DwWebRoute *route)
{
    DwOnceKey key;
    DwAnswer answer;
    bool once = key_of_act(request, &key);
    if (once && dw_once_begin(request->server->once, &key, &answer))
        return answer;
    if (route->waits)
        give_back(request);
    answer = route->answer(request);
    send_session(request, &answer);
    const char *word = dw_request_field(request, "once");
    if (once && answer.status < 400 && !answer.asks && !dw_request_by_script(request) && dw_answer_is_word(word))
        dw_answer_done(&answer, word, request->secure);
    if (once)
        dw_once_end(request->server->once, &key, &answer);
    return answer;
}

// Whether a session that is locked to PAGE may ask for ADDRESS: the page, its pictures and sounds, and the way to
// unlock it.
static bool is_shown(const DwWebRequest *request, const char *page, const char *address)
{
    static const char *const parts[] = {"/picture/", "/sound/"};
    size_t path = strcspn(page, "?");
    bool is_part = false;
    for (size_t i = 0; i < sizeof parts / sizeof *parts && strncmp(address, page, path) == 0; i++)
        is_part |= strncmp(address + path, parts[i], strlen(parts[i])) == 0;
    return strcmp(address, page) == 0 || strcmp(address, "/unlock") == 0 || (is_part && !is_post(request));
}

bool dw_gate_may_be_shown(const DwWebRequest *request, const char *address)
{
    size_t path = strcspn(address, "?");
    char *page = dw_memory_text(address);
    page[path] = '\0';
    const char *query = address + path;
    bool part = !*query ||
                (strncmp(query, "?at=", 4) == 0 && query[4 + strspn(query + 4, "abcdefghijklmnopqrstuvwxyz-")] == '\0');
    bool ours = part && strlen(address) < DW_ACCESS_TARGET && dw_gate_is_page(request, page);
    free(page);
    return ours;
}

// The browser keeps the page, too: it is locked still when the bench was started again, or its own session is over.
static const char locked_cookie[] = "deckwright-locked";

bool dw_gate_lock(const DwWebRequest *request, const char *address, DwAnswer *answer)
{
    if (!dw_gate_may_be_shown(request, address) || !dw_access_lock(request->server->access, request->token, address))
        return false;
    dw_answer_cookie(answer, locked_cookie, address, DEVICE_SECONDS, request->secure);
    return true;
}

void dw_gate_unlock(const DwWebRequest *request, DwAnswer *answer)
{
    dw_access_unlock(request->server->access, request->token);
    dw_answer_cookie(answer, locked_cookie, "", 0, request->secure);
}

bool dw_gate_locked(const DwWebRequest *request, char page[DW_ACCESS_TARGET])
{
    if (dw_access_locked(request->server->access, request->token, page))
        return true;
    const char *kept = dw_pairs_find(&request->incoming->cookies, locked_cookie);
    if (!kept || !dw_gate_may_be_shown(request, kept))
        return false;
    snprintf(page, DW_ACCESS_TARGET, "%s", kept);
    return true;
}

// A screen that was handed to a customer shows one page and nothing else. Returned: whether ANSWER says so.
static bool holds_back(DwWebRequest *request, DwAnswer *answer)
{
    char page[DW_ACCESS_TARGET];
    if (!request->known || !dw_gate_locked(request, page))
        return false;
    request->locked = true;
    if (is_shown(request, page, request->incoming->address))
        return false;
    *answer = is_post(request) || dw_request_by_script(request)
                  ? dw_answer_refusal_at(page, 403, _("This screen shows one page only. Nothing was changed."))
                  : dw_answer_go("%s", page);
    return true;
}

static DwAnswer answer_page(DwWebRequest *request, const DwWebRoute *route)
{
    DwAnswer held;
    begin_session(request);
    if (request->known)
        dw_person_look(request);
    if (!holds_back(request, &held)) {
        unsigned status;
        bool comes_in = request->known || route->open;
        char *wrong = is_post(request) && comes_in ? wrong_with_post(request, &status) : NULL;
        if (!wrong && comes_in && dw_person_may(request, route, &held))
            return act(request, route);
        if (wrong || !comes_in)
            held = wrong ? dw_answer_refusal(status, wrong) : send_to_door(request);
        free(wrong);
    }
    send_session(request, &held);
    return held;
}

// What is seen without the book.
static void look_at(DwWebRequest *request)
{
    request->local = at_this_computer(request->server, request->incoming);
    request->known = request->local;
    snprintf(request->device, sizeof request->device, "%s", request->local ? "bench" : "unknown device");
    const char *type = dw_pairs_find(&request->incoming->cookies, "deckwright_type");
    request->large_type = type && strcmp(type, "large") == 0;
}

// What is wrong with a request's head, which no browser of ours would send so, and
// HTTP's STATUS for it; NULL when nothing is.
// Whether the head says one thing twice and differently: two readers of it would not
// agree on whom it is for or where it ends (RFC 9112, 3.2 and 6.3).
static bool contradicts_itself(const DwPairs *headers)
{
    static const char *const once[] = {"Host", "Content-Length", "Transfer-Encoding"};
    for (size_t k = 0; k < sizeof once / sizeof *once; k++) {
        const char *first = NULL;
        for (size_t i = 0; i < headers->count; i++) {
            if (strcasecmp(headers->pairs[i].name, once[k]) != 0)
                continue;
            if (first && (k == 0 || strcmp(first, headers->pairs[i].value) != 0))
                return true;
            first = headers->pairs[i].value;
        }
    }
    return false;
}

static const char *wrong_with_head(const DwWebRequest *request, unsigned *status)
{
    const DwPairs *headers = &request->incoming->headers;
    size_t bytes = 0;
    for (size_t i = 0; i < headers->count; i++)
        bytes += strlen(headers->pairs[i].name) + strlen(headers->pairs[i].value);
    if (bytes > MOST_HEAD) {
        *status = 431;
        return _("The request's head is larger than any page of ours makes it. Nothing was changed.");
    }
    if (strlen(request->incoming->address) > MOST_ADDRESS) {
        *status = 414;
        return _("The address is longer than any page of ours has. Nothing was changed.");
    }
    if (!is_post(request) && !may_come(request->server, request->incoming)) {
        *status = 403;
        return _("A page of another site asked for this. Open the bench itself for it.");
    }
    return NULL;
}

// What needs the book, which is lent until it is answered.
static DwAnswer answer_lent(DwWebRequest *request, const DwWebRoute *route)
{
    DwMessage message;
    DwStatus lent = dw_server_lend_book(request->server, &request->book, &message);
    if (lent != DW_OK)
        return dw_answer_trouble(lent, &message);
    if (!request->local)
        request->known =
            is_paired(request->book, session(request->server, request->incoming), &request->device_id, request->device);
    dw_book_set_actor(request->book, request->device);
    dw_book_set_away(request->book, !request->local);
    if (request->known)
        dw_watch_know(request->server->watch, request->incoming);
    return answer_page(request, route);
}

static DwAnswer answer_ours(DwWebRequest *request, const DwWebRoute *route)
{
    unsigned status;
    look_at(request);
    const char *wrong = wrong_with_head(request, &status);
    if (wrong)
        return dw_answer_refusal(status, wrong);
    return route->asset ? route->answer(request) : answer_lent(request, route);
}

void dw_gate_answer(DwServer *server, const DwWebRoute *route, DwIncoming *incoming, DwAnswer *answer)
{
    static const char strange[] = "The bench is not known by this name. Use its number, or start it with name=HOST.\n";
    static const char twice[] = "The request's head contradicts itself. Nothing was changed.\n";
    DwPeople people = {0};
    DwWebRequest request = {.server = server,
                            .site = server->site,
                            .people = &people,
                            .incoming = incoming,
                            .path = incoming->path,
                            .secure = server->secure};
    dw_watch_allow(server->watch, incoming); // it came whole
    bool is_twice = contradicts_itself(&incoming->headers);
    if (!is_twice && dw_host_is_ours(server, header(incoming, "Host")))
        *answer = answer_ours(&request, route);
    else {
        const char *words = is_twice ? twice : strange;
        *answer = dw_answer_bytes("text/plain; charset=utf-8", dw_memory_text(words), strlen(words));
        answer->status = is_twice ? 400 : 421;
    }
    dw_render(&request, answer);
    dw_answer_unchanged(answer, header(incoming, "If-None-Match"));
    give_back(&request);
    add_headers(server, answer);
}

bool dw_gate_is_page(const DwWebRequest *request, const char *path)
{
    size_t length = strlen(path);
    if (length == 0 || length >= DW_ACCESS_TARGET || path[0] != '/' || path[1] == '/' ||
        strspn(path, "/abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-") != length)
        return false;
    for (size_t i = 0; request->site->routes[i]; i++)
        for (const DwWebRoute *route = request->site->routes[i]; route->method; route++)
            if (!route->asset && strcmp(route->method, "GET") == 0 && dw_incoming_fits(path, route->pattern, NULL))
                return true;
    return false;
}
