// SPDX-License-Identifier: MIT
// What every request passes before a page sees it: the host it was sent to, the
// site it came from, the session, the seal of a form.
#include "book/shop/device.h"
#include "web/page/page.h"
#include "web/server/private.h"
#include "web/page/words.h"

#include <arpa/inet.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_HEAD = 16 << 10, MOST_ADDRESS = 4 << 10 }; // bytes, of all headers and of a page's address
enum { DEVICE_SECONDS = 400 * 86400 }; // a paired device stays paired; browsers keep no cookie for longer

static const char *header(const struct _u_request *request, const char *name)
{
    const char *value = u_map_get_case(request->map_header, name);
    return value ? value : "";
}

// A browser says from which site a form was posted.
static bool origin_is_ours(const DwServer *server, const struct _u_request *request)
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
static bool is_our_address(const DwServer *server, const struct _u_request *request, const char *page)
{
    const char *scheme = server->secure ? "https://" : "http://", *host = header(request, "Host");
    size_t length = strlen(scheme), host_length = strlen(host);
    return strncasecmp(page, scheme, length) == 0 && strncasecmp(page + length, host, host_length) == 0 &&
           (page[length + host_length] == '/' || page[length + host_length] == '\0');
}

// Whether a page of another site has the browser ask. One of old age says only, if
// at all, which page that was.
static bool is_foreign(const DwServer *server, const struct _u_request *request)
{
    const char *site = header(request, "Sec-Fetch-Site"), *page = header(request, "Referer");
    if (*site || *header(request, "Origin"))
        return !origin_is_ours(server, request);
    return *page && !is_our_address(server, request, page);
}

// A link elsewhere may lead to the board and no further: whatever else another
// site has a browser ask for, a picture, a frame, a page, it is not given, though
// the browser may sit at this computer or hold a paired device's token.
static bool may_come(const DwServer *server, const struct _u_request *request)
{
    if (!is_foreign(server, request))
        return true;
    const char *how = header(request, "Sec-Fetch-Mode"), *what = header(request, "Sec-Fetch-Dest");
    return (!*how || strcmp(how, "navigate") == 0) && (!*what || strcmp(what, "document") == 0) &&
           !*header(request, "Origin") && strcmp(request->http_verb, "POST") != 0 &&
           strcmp(request->url_path, "/") == 0;
}

static uint32_t address_of(const struct _u_request *request)
{
    const struct sockaddr *address = request->client_address;
    if (!address || address->sa_family != AF_INET)
        return 0;
    return ntohl(((const struct sockaddr_in *)(const void *)address)->sin_addr.s_addr);
}

uint64_t dw_guard_who(const DwVisit *visit)
{
    // A device's number stands above what an address can be.
    return visit->device_id ? (uint64_t)visit->device_id << 32 : address_of(visit->request);
}

// A connection from this computer that calls it so. What another program here
// passes on for somebody else comes from this computer too, but says so.
static bool at_this_computer(const DwServer *server, const struct _u_request *request)
{
    static const char *const passed_on[] = {"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-IP", "Via"};
    for (size_t i = 0; i < sizeof passed_on / sizeof *passed_on; i++)
        if (u_map_has_key_case(request->map_header, passed_on[i]))
            return false;
    return address_of(request) >> 24 == 127 && dw_host_is_loopback(server, header(request, "Host"));
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

static const char *token_in(const DwServer *server, const struct _u_request *request, bool paired)
{
    const char *token = u_map_get(request->map_cookie, cookie_name(server, paired));
    return token && strlen(token) == 64 && strspn(token, "0123456789abcdef") == 64 ? token : "";
}

static const char *session(const DwServer *server, const struct _u_request *request)
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

bool dw_guard_admits(DwServer *server, const struct _u_request *request)
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

static void add_headers(const DwServer *server, struct _u_response *response)
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
        if (!u_map_has_key(response->map_header, headers[i][0]))
            u_map_put(response->map_header, headers[i][0], headers[i][1]);
    if (server->secure) // browsers complain of it elsewhere
        u_map_put(response->map_header, "Cross-Origin-Opener-Policy", "same-origin");
    if (!u_map_has_key(response->map_header, "Cache-Control"))
        u_map_put(response->map_header, "Cache-Control", "no-store");
}

void dw_guard_give_session(DwVisit *visit, const char *token, unsigned seconds)
{
    if (token != visit->token)
        snprintf(visit->token, sizeof visit->token, "%s", token);
    visit->new_token = true;
    visit->token_seconds = seconds;
    dw_access_seal(visit->server->access, visit->token, visit->seal);
}

static void send_session(DwVisit *visit)
{
    if (visit->new_token)
        ulfius_add_same_site_cookie_to_response(visit->response, cookie_name(visit->server, visit->token_seconds > 0),
                                                visit->token, NULL, visit->token_seconds, NULL, "/",
                                                visit->server->secure, 1, U_COOKIE_SAME_SITE_STRICT);
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
    return strcmp(visit->request->http_verb, "POST") == 0;
}

static bool begins_with(const char *text, const char *beginning)
{
    return strncasecmp(text, beginning, strlen(beginning)) == 0;
}

// Of a body that was cut off nothing may be kept: the library keeps only the first bytes of it.
static bool was_cut(const DwVisit *visit, bool files)
{
    const struct _u_request *request = visit->request;
    const struct _u_map *map = request->map_post_body;
    bool cut = !files && (request->binary_body_length >= DW_MOST_BODY ||
                          strtoull(header(request, "Content-Length"), NULL, 10) > DW_MOST_BODY);
    for (int i = 0; map && i < map->nb_values; i++)
        cut = cut || map->lengths[i] >= DW_MOST_FIELD;
    return cut;
}

// What is wrong with a posted form's body; NULL when nothing is.
static const char *wrong_with_body(const DwVisit *visit, unsigned *status)
{
    const char *type = header(visit->request, "Content-Type");
    bool files = begins_with(type, "multipart/form-data");
    *status = 415;
    if (!files && !begins_with(type, "application/x-www-form-urlencoded") &&
        (*type || visit->request->binary_body_length))
        return _("The bench takes forms, and this was none. Nothing was changed.");
    *status = 413;
    if (was_cut(visit, files))
        return _("That is more than a form may hold. Nothing was changed: send it in parts.");
    if (dw_uploads_refused(visit->server->uploads, visit->request))
        return _("A file could not be taken: it is over 2 GB, there are more than 32, or the disk is full. Nothing "
                 "was changed.");
    return NULL;
}

// What is wrong with a posted form; NULL when nothing is.
static const char *wrong_with_post(const DwVisit *visit, unsigned *status)
{
    *status = 403;
    if (!origin_is_ours(visit->server, visit->request))
        return _("The form came from another site. Nothing was changed.");
    const char *wrong = wrong_with_body(visit, status);
    if (wrong)
        return wrong;
    *status = 403;
    const char *seal = dw_visit_field(visit, "seal");
    if (!*seal)
        seal = dw_visit_header(visit, "Deckwright-Seal");
    if (!dw_access_sealed(visit->server->access, visit->token, seal))
        return _("The page was too old, or the bench was started again. Nothing was changed: open the page anew and "
                 "repeat.");
    return NULL;
}

// Whoever is not known is shown the door, and comes back to where it wanted to go.
static void send_to_door(DwVisit *visit)
{
    const char *path = visit->request->url_path;
    if (is_post(visit) || strstr(dw_visit_header(visit, "Accept"), "application/json"))
        dw_visit_refuse(visit, 401, _("This device is not known to the shop. Nothing was changed."));
    else if (path && strcmp(path, "/") != 0 && dw_guard_is_page(path))
        dw_visit_go(visit, "/enter?to=%s", path);
    else
        dw_visit_go(visit, "/enter");
}

static void answer_page(DwVisit *visit, const DwWebRoute *route)
{
    begin_session(visit);
    unsigned status;
    const char *wrong = is_post(visit) && (visit->known || route->open) ? wrong_with_post(visit, &status) : NULL;
    if (wrong)
        dw_visit_refuse(visit, status, wrong);
    else if (visit->known || route->open)
        route->answer(visit);
    else
        send_to_door(visit);
    send_session(visit);
}

// What is seen without the book.
static void look_at(DwVisit *visit)
{
    visit->local = at_this_computer(visit->server, visit->request);
    visit->known = visit->local;
    snprintf(visit->device, sizeof visit->device, "%s", visit->local ? "bench" : "unknown device");
    const char *type = u_map_get(visit->request->map_cookie, "deckwright_type");
    visit->large_type = type && strcmp(type, "large") == 0;
}

// Refuses a request whose head no browser of ours would send.
static bool refuse_head(DwVisit *visit)
{
    const struct _u_map *map = visit->request->map_header;
    size_t bytes = 0;
    for (int i = 0; i < map->nb_values; i++)
        bytes += strlen(map->keys[i]) + strlen(map->values[i]);
    if (bytes > MOST_HEAD)
        dw_visit_refuse(visit, 431,
                        _("The request's head is larger than any page of ours makes it. Nothing was changed."));
    else if (strlen(visit->request->http_url) > MOST_ADDRESS)
        dw_visit_refuse(visit, 414, _("The address is longer than any page of ours has. Nothing was changed."));
    else
        return false;
    return true;
}

static void answer_ours(DwVisit *visit, const DwWebRoute *route)
{
    DwMessage message;
    look_at(visit);
    if (refuse_head(visit))
        return;
    if (!is_post(visit) && !may_come(visit->server, visit->request)) {
        dw_visit_refuse(visit, 403, _("A page of another site asked for this. Open the bench itself for it."));
        return;
    }
    if (route->asset) {
        route->answer(visit);
        return;
    }
    DwStatus lent = dw_server_lend_book(visit->server, &visit->book, &message);
    if (lent != DW_OK) {
        dw_visit_trouble(visit, lent, &message);
        return;
    }
    if (!visit->local)
        visit->known = is_paired(visit->book, session(visit->server, visit->request), &visit->device_id, visit->device);
    dw_book_set_actor(visit->book, visit->device);
    dw_book_set_away(visit->book, !visit->local);
    if (visit->known)
        dw_watch_know(visit->server->watch, visit->request);
    answer_page(visit, route);
    if (visit->book) // a visit that waits has given it back
        dw_server_return_book(visit->server, visit->book);
}

void dw_guard_answer(DwServer *server, const DwWebRoute *route, const struct _u_request *request,
                     struct _u_response *response)
{
    DwVisit visit = {.server = server, .request = request, .response = response};
    dw_watch_allow(server->watch, request); // it came whole
    if (dw_host_is_ours(server, header(request, "Host")))
        answer_ours(&visit, route);
    else {
        ulfius_set_string_body_response(
            response, 421, "The bench is not known by this name. Use its number, or start it with name=HOST.\n");
        u_map_put(response->map_header, "Content-Type", "text/plain; charset=utf-8");
    }
    add_headers(server, response);
    dw_html_free(visit.html);
    dw_uploads_end(server->uploads, request);
}

// Whether the parts of PATH are those of PATTERN; a part that begins with ':' is any word.
static bool fits(const char *pattern, const char *path)
{
    while (*pattern == '/' && *path == '/') {
        size_t wanted = strcspn(++pattern, "/"), given = strcspn(++path, "/");
        bool any = *pattern == ':' && given > 0;
        if (!any && (wanted != given || strncmp(pattern, path, given) != 0))
            return false;
        pattern += wanted;
        path += given;
    }
    return !*pattern && !*path;
}

bool dw_guard_is_page(const char *path)
{
    size_t length = strlen(path);
    if (length == 0 || length >= DW_ACCESS_TARGET || path[0] != '/' || path[1] == '/' ||
        strspn(path, "/abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-") != length)
        return false;
    for (size_t i = 0; dw_routes[i]; i++)
        for (const DwWebRoute *route = dw_routes[i]; route->method; route++)
            if (!route->asset && strcmp(route->method, "GET") == 0 && fits(route->pattern, path))
                return true;
    return false;
}
