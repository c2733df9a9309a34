// SPDX-License-Identifier: MIT
// What every request passes before a page sees it: the host it was sent to, the
// site it came from, the session, the seal of a form.
#include "base/memory.h"
#include "base/text.h"
#include "web/page.h"
#include "web/private.h"
#include "web/words.h"

#include <arpa/inet.h>
#include <stdlib.h>
#include <string.h>

#define COOKIE "deckwright"

static const char *header(const struct _u_request *request, const char *name)
{
    const char *value = u_map_get_case(request->map_header, name);
    return value ? value : "";
}

// A page of another site that had its name point here would send that name.
static bool host_is_ours(const DwServer *server, const struct _u_request *request)
{
    const char *host = header(request, "Host");
    for (size_t i = 0; i < sizeof server->hosts / sizeof *server->hosts && server->hosts[i]; i++)
        if (strcasecmp(host, server->hosts[i]) == 0)
            return true;
    return false;
}

// A browser says from which site a form was posted.
static bool origin_is_ours(const DwServer *server, const struct _u_request *request)
{
    const char *origin = header(request, "Origin");
    if (!*origin)
        return true; // no browser of today posts across sites without it; the seal is asked all the same
    const char *scheme = server->secure ? "https://" : "http://";
    size_t length = strlen(scheme);
    return strncasecmp(origin, scheme, length) == 0 && strcasecmp(origin + length, header(request, "Host")) == 0;
}

static bool at_this_computer(const struct _u_request *request)
{
    const struct sockaddr *address = request->client_address;
    if (!address || address->sa_family != AF_INET)
        return false;
    return (ntohl(((const struct sockaddr_in *)(const void *)address)->sin_addr.s_addr) >> 24) == 127;
}

static const char *session(const struct _u_request *request)
{
    const char *token = u_map_get(request->map_cookie, COOKIE);
    return token && strlen(token) == 64 && strspn(token, "0123456789abcdef") == 64 ? token : "";
}

bool dw_guard_admits(DwServer *server, const struct _u_request *request)
{
    return host_is_ours(server, request) && origin_is_ours(server, request) && *session(request) &&
           at_this_computer(request);
}

static void add_headers(struct _u_response *response)
{
    static const char *const headers[][2] = {
        {"Content-Security-Policy",
         "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' blob: data:; connect-src 'self'; "
         "media-src 'self' blob:; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"},
        {"X-Content-Type-Options", "nosniff"},
        {"Referrer-Policy", "same-origin"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
        {"Cross-Origin-Opener-Policy", "same-origin"},
        {"Permissions-Policy", "camera=(self), microphone=(), geolocation=()"},
    };
    for (size_t i = 0; i < sizeof headers / sizeof *headers; i++)
        u_map_put(response->map_header, headers[i][0], headers[i][1]);
    if (!u_map_has_key(response->map_header, "Cache-Control"))
        u_map_put(response->map_header, "Cache-Control", "no-store");
}

static void begin_session(DwVisit *visit)
{
    snprintf(visit->token, sizeof visit->token, "%s", session(visit->request));
    if (!*visit->token) {
        dw_access_token(visit->token);
        ulfius_add_same_site_cookie_to_response(visit->response, COOKIE, visit->token, NULL, 0, NULL, "/",
                                                visit->server->secure, 1, U_COOKIE_SAME_SITE_STRICT);
    }
    dw_access_seal(visit->server->access, visit->token, visit->seal);
}

// What is wrong with a posted form; NULL when nothing is.
static const char *wrong_with_post(const DwVisit *visit, unsigned *status)
{
    *status = 403;
    if (!origin_is_ours(visit->server, visit->request))
        return _("The form came from another site. Nothing was changed.");
    const char *seal = dw_visit_field(visit, "seal");
    if (!*seal)
        seal = dw_visit_header(visit, "Deckwright-Seal");
    if (!dw_access_sealed(visit->server->access, visit->token, seal))
        return _("The page was too old, or the bench was started again. Nothing was changed: open the page anew and "
                 "repeat.");
    *status = 413;
    if (dw_uploads_refused(visit->server->uploads, visit->request))
        return _("The file could not be taken: it is over 2 GB, or the disk is full.");
    return NULL;
}

static void answer_known(DwVisit *visit, const DwWebRoute *route)
{
    unsigned status;
    const char *wrong = strcmp(visit->request->http_verb, "POST") == 0 ? wrong_with_post(visit, &status) : NULL;
    if (wrong) {
        dw_visit_refuse(visit, status, wrong);
        return;
    }
    DwMessage message;
    DwStatus lent = dw_server_lend_book(visit->server, &visit->book, &message);
    if (lent != DW_OK) {
        dw_visit_trouble(visit, lent, &message);
        return;
    }
    dw_book_set_actor(visit->book, visit->device);
    route->answer(visit);
    dw_server_return_book(visit->server, visit->book);
}

void dw_guard_answer(DwServer *server, const DwWebRoute *route, const struct _u_request *request,
                     struct _u_response *response)
{
    DwVisit visit = {.server = server, .request = request, .response = response};
    if (!host_is_ours(server, request)) {
        ulfius_set_string_body_response(response, 421, "This address is not the bench's.\n");
        u_map_put(response->map_header, "Content-Type", "text/plain; charset=utf-8");
    } else {
        begin_session(&visit);
        visit.known = at_this_computer(request);
        snprintf(visit.device, sizeof visit.device, "%s", "bench");
        const char *type = u_map_get(request->map_cookie, "deckwright_type");
        visit.large_type = type && strcmp(type, "large") == 0;
        if (visit.known || route->open)
            answer_known(&visit, route);
        else
            dw_visit_refuse(&visit, 401, _("This device is not known to the shop."));
    }
    add_headers(response);
    dw_html_free(visit.html);
    dw_uploads_end(server->uploads, request);
}
