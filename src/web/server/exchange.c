// SPDX-License-Identifier: MIT
#include "web/server/private.h"

#include "web/server/words.h"

#include <limits.h>
#include <string.h>

static DwAnswer nothing_there(const DwWebRequest *request)
{
    (void)request;
    return dw_answer_refusal(404, _("There is no such page. The address may be mistyped, or the entry is gone."));
}

static DwAnswer wrong_method(const DwWebRequest *request)
{
    (void)request;
    DwAnswer answer = dw_answer_refusal(405, _("This page cannot be asked for in this way. Nothing was changed."));
    dw_answer_tell(&answer, "Allow", "GET, HEAD, POST");
    return answer;
}

// Nothing is given away by either, and neither begins a session.
static const DwWebRoute missing = {"*", "", nothing_there, true, .asset = true};
static const DwWebRoute not_so = {"*", "", wrong_method, true, .asset = true};

// How many parts of PATTERN stand for anything.
static unsigned open_parts(const char *pattern)
{
    unsigned parts = 0;
    for (; *pattern; pattern++)
        parts += *pattern == ':';
    return parts;
}

// Of what fits, the one with the fewest open parts answers: "/job/new" before
// "/job/:number"; each page by its own method, HEAD as GET (the library leaves the
// body out).
static const DwWebRoute *find_route(const DwSite *site, const DwIncoming *incoming)
{
    const char *method = strcmp(incoming->method, "HEAD") == 0 ? "GET" : incoming->method;
    const DwWebRoute *found = &missing;
    unsigned fewest = UINT_MAX;
    for (size_t i = 0; site->routes[i]; i++)
        for (const DwWebRoute *route = site->routes[i]; route->method; route++) {
            unsigned parts = open_parts(route->pattern);
            if (parts >= fewest || !dw_incoming_fits(incoming->path, route->pattern, NULL))
                continue;
            if (strcmp(route->method, method) == 0) {
                found = route;
                fewest = parts;
            } else if (found == &missing)
                found = &not_so;
        }
    return found;
}

void *dw_exchange_begin(void *cls, const char *address, struct MHD_Connection *connection)
{
    DwIncoming *incoming = dw_incoming_new(cls, address);
    dw_watch_begin(connection, incoming);
    return incoming;
}

static enum MHD_Result send_answer(struct MHD_Connection *connection, DwAnswer *answer)
{
    struct MHD_Response *response =
        answer->bytes ? MHD_create_response_from_buffer(answer->length, answer->bytes, MHD_RESPMEM_MUST_FREE)
                      : MHD_create_response_from_buffer(0, NULL, MHD_RESPMEM_PERSISTENT);
    if (!response)
        return MHD_NO;
    answer->bytes = NULL; // the response's now
    for (size_t i = 0; i < answer->headers.count; i++)
        MHD_add_response_header(response, answer->headers.pairs[i].name, answer->headers.pairs[i].value);
    enum MHD_Result result = MHD_queue_response(connection, answer->status ? answer->status : 200, response);
    MHD_destroy_response(response);
    return result;
}

enum MHD_Result dw_exchange_step(void *cls, struct MHD_Connection *connection, const char *address, const char *method,
                                 const char *version, const char *bytes, size_t *size, void **context)
{
    (void)address;
    (void)version;
    DwIncoming *incoming = *context;
    if (!incoming->method) {
        dw_incoming_head(incoming, connection, method);
        return MHD_YES;
    }
    if (*size) {
        dw_incoming_take(incoming, bytes, *size);
        *size = 0;
        return MHD_YES;
    }
    const DwWebRoute *route = find_route(incoming->server->site, incoming);
    dw_incoming_fits(incoming->path, route->pattern, &incoming->parts);
    DwAnswer answer = {0};
    dw_gate_answer(cls, route, incoming, &answer);
    dw_upload_end(incoming->server->uploads, &incoming->uploads); // whoever has the answer finds nothing left
    enum MHD_Result result = send_answer(connection, &answer);
    dw_answer_clear(&answer);
    return result;
}

void dw_exchange_end(void *cls, struct MHD_Connection *connection, void **context, enum MHD_RequestTerminationCode why)
{
    (void)cls;
    (void)why;
    dw_watch_end(connection);
    dw_incoming_free(*context);
    *context = NULL;
}
