// SPDX-License-Identifier: MIT
// What every request passes before a page sees it: the host it was sent to, the
// site it came from, the session, the seal of a form.
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/device.h"
#include "web/server/private.h"
#include "web/server/render.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_HEAD = 16 << 10, MOST_ADDRESS = 4 << 10 }; // bytes, of all headers and of a page's address
enum { DEVICE_SECONDS = 400 * 86400 }; // a paired device stays paired; browsers keep no cookie for longer

static const char *header(const DwWebRequest *request, const char *name)
{
    return dw_request_header(request, name);
}

// A browser says from which site a form was posted.
static bool origin_is_ours(const DwServer *server, const DwWebRequest *request)
{
    const char *origin = header(request, "Origin"), *site = header(request, "Sec-Fetch-Site");
    if (*site && strcmp(site, "same-origin") != 0 && strcmp(site, "none") != 0)
        return false;
    if (!*origin)
        return true; // no browser of today posts across sites without it; the seal is asked all the same
    const char *scheme = server->secure ? "https://" : "http://";
    size_t length = strlen(scheme);
    return strncasecmp(origin, scheme, length) == 0 && strcasecmp(origin + length, header(request, "Host")) == 0;
}

// Whether PAGE, a Referer, is an address of ours.
static bool is_our_address(const DwServer *server, const DwWebRequest *request, const char *page)
{
    const char *scheme = server->secure ? "https://" : "http://", *host = header(request, "Host");
    size_t length = strlen(scheme), host_length = strlen(host);
    return strncasecmp(page, scheme, length) == 0 && strncasecmp(page + length, host, host_length) == 0 &&
           (page[length + host_length] == '/' || page[length + host_length] == '\0');
}

// Whether a page of another site has the browser ask. One of old age says only, if
// at all, which page that was.
static bool is_foreign(const DwServer *server, const DwWebRequest *request)
{
    const char *site = header(request, "Sec-Fetch-Site"), *page = header(request, "Referer");
    if (*site || *header(request, "Origin"))
        return !origin_is_ours(server, request);
    return *page && !is_our_address(server, request, page);
}

// A link elsewhere may lead to the board and no further: whatever else another
// site has a browser ask for, a picture, a frame, a page, it is not given, though
// the browser may sit at this computer or hold a paired device's token.
static bool may_come(const DwServer *server, const DwWebRequest *request)
{
    if (!is_foreign(server, request))
        return true;
    const char *how = header(request, "Sec-Fetch-Mode"), *what = header(request, "Sec-Fetch-Dest");
    return (!*how || strcmp(how, "navigate") == 0) && (!*what || strcmp(what, "document") == 0) &&
           !*header(request, "Origin") && strcmp(request->method, "POST") != 0 && strcmp(request->path, "/") == 0;
}

DwAccess *dw_guard_access(const DwVisit *visit)
{
    return visit->server->access;
}

char *dw_guard_outside(const DwVisit *visit)
{
    if (visit->local)
        return dw_host_outside(visit->server);
    // The name by which this device came is good for the next one too.
    return dw_text_format("%s://%s", visit->secure ? "https" : "http", dw_visit_header(visit, "Host"));
}

uint64_t dw_guard_who(const DwVisit *visit)
{
    // A device's number stands above what an address can be.
    return visit->device_id ? (uint64_t)visit->device_id << 32 : visit->request->client;
}

// A connection from this computer that calls it so. What another program here
// passes on for somebody else comes from this computer too, but says so.
static bool at_this_computer(const DwServer *server, const DwWebRequest *request)
{
    static const char *const passed_on[] = {"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-IP", "Via"};
    for (size_t i = 0; i < sizeof passed_on / sizeof *passed_on; i++)
        if (dw_pairs_find_case(&request->headers, passed_on[i]))
            return false;
    return request->client >> 24 == 127 && dw_host_is_loopback(server, header(request, "Host"));
}

// A session's token and a paired device's have cookies of their own: a link on another
// site has the browser come without any, and the session that is begun then must not
// take the place of the device's token. Under TLS the name's beginning has browsers
// refuse one that was set without it.
static const char *cookie_name(const DwServer *server, bool paired)
{
    if (server->secure)
        return paired ? "__Host-deckwright" : "__Host-deckwright-visit";
    return paired ? "deckwright" : "deckwright-visit";
}

static const char *token_in(const DwServer *server, const DwWebRequest *request, bool paired)
{
    const char *token = dw_pairs_find(&request->cookies, cookie_name(server, paired));
    return token && strlen(token) == 64 && strspn(token, "0123456789abcdef") == 64 ? token : "";
}

static const char *session(const DwServer *server, const DwWebRequest *request)
{
    const char *token = token_in(server, request, true);
    return *token ? token : token_in(server, request, false);
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

bool dw_guard_admits(DwServer *server, const DwWebRequest *request)
{
    const char *token = session(server, request);
    if (!dw_host_is_ours(server, header(request, "Host")) || !origin_is_ours(server, request) || !*token)
        return false;
    if (at_this_computer(server, request))
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
         "media-src 'self' blob:; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"},
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

void dw_guard_give_session(DwVisit *visit, const char *token, unsigned seconds)
{
    if (token != visit->token)
        snprintf(visit->token, sizeof visit->token, "%s", token);
    visit->new_token = true;
    visit->token_seconds = seconds;
    dw_access_seal(visit->server->access, visit->token, visit->seal);
}

static void send_session(const DwVisit *visit, DwAnswer *answer)
{
    if (visit->new_token)
        dw_answer_cookie(answer, cookie_name(visit->server, visit->token_seconds > 0), visit->token,
                         visit->token_seconds, visit->server->secure);
}

DwStatus dw_guard_pair(DwVisit *visit, const char *name, DwMessage *message)
{
    char token[65], hash[65];
    dw_access_token(token);
    dw_access_hash(token, hash);
    DwStatus status = dw_device_add(visit->book, name, hash, NULL, message);
    if (status == DW_OK)
        dw_guard_give_session(visit, token, DEVICE_SECONDS);
    return status;
}

static void begin_session(DwVisit *visit)
{
    snprintf(visit->token, sizeof visit->token, "%s", session(visit->server, visit->request));
    bool had = *visit->token;
    if (!had)
        dw_access_token(visit->token);
    dw_guard_give_session(visit, visit->token, visit->device_id ? DEVICE_SECONDS : 0);
    // A paired device's time begins anew with each page; a session's lasts as it is.
    visit->new_token = !had || visit->device_id;
}

static bool is_post(const DwVisit *visit)
{
    return visit->request->body != NULL;
}

// What is wrong with a posted form's body, and HTTP's STATUS for it; NULL when
// nothing is. The caller frees it with free().
static char *wrong_with_body(DwVisit *visit, unsigned *status)
{
    DwWebRequest *request = visit->request;
    *status = 400;
    switch (dw_body_end(request->body)) {
    case DW_BODY_WHOLE:
        break;
    case DW_BODY_NO_FORM:
        *status = 415;
        return dw_memory_text(_("The bench takes forms, and this was none. Nothing was changed."));
    case DW_BODY_NO_MARK:
        return dw_memory_text(
            _("The form does not say how its parts are told apart. Nothing was changed: open the page "
              "anew and send it again."));
    case DW_BODY_TOO_LARGE:
        *status = 413;
        return dw_memory_text(_("That is more than a form may hold. Nothing was changed: send it in parts."));
    case DW_BODY_NO_TEXT:
        return dw_text_format(
            _("What came in the field \"%.60s\" is no text (UTF-8). Nothing was changed: type it anew "
              "and send it again."),
            dw_body_wrong(request->body));
    case DW_BODY_TWICE:
        return dw_text_format(_("The field \"%.60s\" came twice. Nothing was changed: open the page anew and send it "
                                "again."),
                              dw_body_wrong(request->body));
    case DW_BODY_BROKEN:
        return dw_memory_text(_("The form did not come whole. Nothing was changed: send it again."));
    }
    *status = 413;
    if (request->uploads.refused)
        return dw_memory_text(_("A file could not be taken: it is over 2 GB, there are more than 32, or the disk is "
                                "full. Nothing was changed."));
    return NULL;
}

// What is wrong with a posted form; as wrong_with_body().
static char *wrong_with_post(DwVisit *visit, unsigned *status)
{
    *status = 403;
    if (!origin_is_ours(visit->server, visit->request))
        return dw_memory_text(_("The form came from another site. Nothing was changed."));
    char *wrong = wrong_with_body(visit, status);
    if (wrong)
        return wrong;
    *status = 403;
    const char *seal = dw_visit_field(visit, "seal");
    if (!*seal)
        seal = dw_visit_header(visit, "Deckwright-Seal");
    if (!dw_access_sealed(visit->server->access, visit->token, seal))
        return dw_memory_text(
            _("The page was too old, or the bench was started again. Nothing was changed: open the page "
              "anew and repeat."));
    return NULL;
}

// Whoever is not known is shown the door, and comes back to where it wanted to go.
static DwAnswer send_to_door(DwVisit *visit)
{
    const char *path = visit->page;
    if (is_post(visit) || dw_visit_by_script(visit))
        return dw_answer_refusal(401, _("This device is not known to the shop. Nothing was changed."));
    if (path && strcmp(path, "/") != 0 && dw_guard_is_page(visit, path))
        return dw_answer_go("/enter?to=%s", path);
    return dw_answer_go("/enter");
}

static void hash_text(crypto_generichash_state *hash, const char *text)
{
    crypto_generichash_update(hash, (const unsigned char *)text, strlen(text) + 1);
}

// What makes a posted form the act it is: whose it is, where it goes, all that it brings.
// False when it has no word that says so.
static bool key_of_act(const DwVisit *visit, DwOnceKey *key)
{
    DwWebRequest *request = visit->request;
    if (!request->body || !*dw_visit_field(visit, "once"))
        return false;
    crypto_generichash_state hash;
    crypto_generichash_init(&hash, NULL, 0, sizeof key->bytes);
    hash_text(&hash, visit->token);
    hash_text(&hash, dw_visit_by_script(visit) ? "script" : "page");
    hash_text(&hash, request->address);
    const char *name, *value;
    for (size_t i = 0; dw_visit_field_at(visit, i, &name, &value); i++) {
        hash_text(&hash, name);
        hash_text(&hash, value);
    }
    for (size_t i = 0; i < request->uploads.count; i++) {
        crypto_generichash_state content = *request->uploads.files[i].hash;
        unsigned char bytes[crypto_generichash_BYTES];
        crypto_generichash_final(&content, bytes, sizeof bytes);
        crypto_generichash_update(&hash, bytes, sizeof bytes);
        hash_text(&hash, request->uploads.files[i].field);
        hash_text(&hash, request->uploads.files[i].name);
    }
    crypto_generichash_final(&hash, key->bytes, sizeof key->bytes);
    return true;
}

// A second tap on the same form is answered as the first was, the session it may have given included.
static DwAnswer act(DwVisit *visit, const DwWebRoute *route)
{
    DwOnceKey key;
    DwAnswer answer;
    bool once = key_of_act(visit, &key);
    if (once && dw_once_begin(visit->server->once, &key, &answer))
        return answer;
    answer = route->answer(visit);
    send_session(visit, &answer);
    if (once)
        dw_once_end(visit->server->once, &key, &answer);
    return answer;
}

static DwAnswer answer_page(DwVisit *visit, const DwWebRoute *route)
{
    begin_session(visit);
    unsigned status;
    char *wrong = is_post(visit) && (visit->known || route->open) ? wrong_with_post(visit, &status) : NULL;
    if (!wrong && (visit->known || route->open))
        return act(visit, route);
    DwAnswer answer = wrong ? dw_answer_refusal(status, wrong) : send_to_door(visit);
    free(wrong);
    send_session(visit, &answer);
    return answer;
}

// What is seen without the book.
static void look_at(DwVisit *visit)
{
    visit->local = at_this_computer(visit->server, visit->request);
    visit->known = visit->local;
    snprintf(visit->device, sizeof visit->device, "%s", visit->local ? "bench" : "unknown device");
    const char *type = dw_pairs_find(&visit->request->cookies, "deckwright_type");
    visit->large_type = type && strcmp(type, "large") == 0;
}

// What is wrong with a request's head, which no browser of ours would send so, and
// HTTP's STATUS for it; NULL when nothing is.
static const char *wrong_with_head(const DwVisit *visit, unsigned *status)
{
    const DwPairs *headers = &visit->request->headers;
    size_t bytes = 0;
    for (size_t i = 0; i < headers->count; i++)
        bytes += strlen(headers->pairs[i].name) + strlen(headers->pairs[i].value);
    if (bytes > MOST_HEAD) {
        *status = 431;
        return _("The request's head is larger than any page of ours makes it. Nothing was changed.");
    }
    if (strlen(visit->request->address) > MOST_ADDRESS) {
        *status = 414;
        return _("The address is longer than any page of ours has. Nothing was changed.");
    }
    if (!is_post(visit) && !may_come(visit->server, visit->request)) {
        *status = 403;
        return _("A page of another site asked for this. Open the bench itself for it.");
    }
    return NULL;
}

// What needs the book, which is lent until it is answered.
static DwAnswer answer_lent(DwVisit *visit, const DwWebRoute *route)
{
    DwMessage message;
    DwStatus lent = dw_server_lend_book(visit->server, &visit->book, &message);
    if (lent != DW_OK)
        return dw_answer_trouble(lent, &message);
    if (!visit->local)
        visit->known = is_paired(visit->book, session(visit->server, visit->request), &visit->device_id, visit->device);
    dw_book_set_actor(visit->book, visit->device);
    dw_book_set_away(visit->book, !visit->local);
    if (visit->known)
        dw_watch_know(visit->server->watch, visit->request);
    return answer_page(visit, route);
}

static DwAnswer answer_ours(DwVisit *visit, const DwWebRoute *route)
{
    unsigned status;
    look_at(visit);
    const char *wrong = wrong_with_head(visit, &status);
    if (wrong)
        return dw_answer_refusal(status, wrong);
    return route->asset ? route->answer(visit) : answer_lent(visit, route);
}

void dw_guard_answer(DwServer *server, const DwWebRoute *route, DwWebRequest *request, DwAnswer *answer)
{
    static const char strange[] = "The bench is not known by this name. Use its number, or start it with name=HOST.\n";
    DwVisit visit = {
        .server = server, .site = server->site, .request = request, .page = request->path, .secure = server->secure};
    dw_watch_allow(server->watch, request); // it came whole
    if (dw_host_is_ours(server, header(request, "Host")))
        *answer = answer_ours(&visit, route);
    else {
        *answer = dw_answer_bytes("text/plain; charset=utf-8", dw_memory_text(strange), strlen(strange));
        answer->status = 421;
    }
    dw_render(&visit, answer);
    if (visit.book) // one that waits has given it back
        dw_visit_give_back(&visit);
    add_headers(server, answer);
}

bool dw_guard_is_page(const DwVisit *visit, const char *path)
{
    size_t length = strlen(path);
    if (length == 0 || length >= DW_ACCESS_TARGET || path[0] != '/' || path[1] == '/' ||
        strspn(path, "/abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-") != length)
        return false;
    for (size_t i = 0; visit->site->routes[i]; i++)
        for (const DwWebRoute *route = visit->site->routes[i]; route->method; route++)
            if (!route->asset && strcmp(route->method, "GET") == 0 && dw_request_fits(path, route->pattern, NULL))
                return true;
    return false;
}
