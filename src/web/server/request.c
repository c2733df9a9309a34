// SPDX-License-Identifier: MIT
#include "web/server/request.h"

#include "base/memory.h"
#include "base/text.h"
#include "web/server/private.h"

#include <stdlib.h>
#include <string.h>

enum { STRANGER_BYTES = 64 << 10 }; // of a form whose sender was not looked at yet

DwWebRequest *dw_request_new(DwServer *server, const char *address)
{
    DwWebRequest *request = dw_memory_new(1, sizeof *request);
    size_t path = strcspn(address, "?");
    request->server = server;
    request->address = dw_memory_text(address);
    request->path = dw_text_format("%.*s", (int)path, address);
    // What is no text of it is as if it were not there: no page of ours makes such an address.
    if (address[path])
        free(dw_pairs_read(&request->query, address + path + 1, strlen(address + path + 1)));
    return request;
}

void dw_request_free(DwWebRequest *request)
{
    if (!request)
        return;
    dw_upload_end(request->server->uploads, &request->uploads);
    dw_body_free(request->body);
    dw_pairs_clear(&request->query);
    dw_pairs_clear(&request->parts);
    dw_pairs_clear(&request->headers);
    dw_pairs_clear(&request->cookies);
    free(request->method);
    free(request->address);
    free(request->path);
    free(request);
}

static enum MHD_Result note(void *pairs, enum MHD_ValueKind kind, const char *name, const char *value)
{
    (void)kind;
    value = value ? value : "";
    if (dw_text_is_utf8(name, strlen(name)) && dw_text_is_utf8(value, strlen(value)))
        dw_pairs_add(pairs, name, value);
    return MHD_YES;
}

// Whether more than a stranger may send is taken: asked once.
static bool is_admitted(DwWebRequest *request)
{
    if (!request->admitted) {
        request->admitted = dw_guard_admits(request->server, request);
        if (request->admitted)
            dw_watch_allow(request->server->watch, request);
    }
    return request->admitted;
}

static void begin_file(void *context, const char *field, const char *name)
{
    DwWebRequest *request = context;
    if (!*name || !is_admitted(request)) // a field for files in which none was chosen has no name
        dw_upload_skip(&request->uploads);
    else
        dw_upload_begin(request->server->uploads, &request->uploads, field, name);
}

static void take_file(void *context, const char *bytes, size_t length)
{
    DwWebRequest *request = context;
    dw_upload_more(&request->uploads, bytes, length);
}

void dw_request_head(DwWebRequest *request, struct MHD_Connection *connection, const char *method)
{
    request->method = dw_memory_text(method);
    MHD_get_connection_values(connection, MHD_HEADER_KIND, note, &request->headers);
    MHD_get_connection_values(connection, MHD_COOKIE_KIND, note, &request->cookies);
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    const struct sockaddr *client = info ? info->client_addr : NULL;
    if (client && client->sa_family == AF_INET)
        request->client = ntohl(((const struct sockaddr_in *)(const void *)client)->sin_addr.s_addr);
    if (strcmp(method, "POST") == 0)
        request->body =
            dw_body_new(dw_request_header(request, "Content-Type"), (DwBodyFiles){begin_file, take_file, request});
}

void dw_request_take(DwWebRequest *request, const char *bytes, size_t length)
{
    request->received += length;
    if (!request->body || request->stopped)
        return;
    if (request->received > STRANGER_BYTES && !is_admitted(request)) {
        request->stopped = true;
        dw_body_stop(request->body);
    }
    dw_body_push(request->body, bytes, length);
}

const char *dw_request_header(const DwWebRequest *request, const char *name)
{
    const char *value = dw_pairs_find_case(&request->headers, name);
    return value ? value : "";
}

// One part of a path against one of a pattern.
static bool fits_part(const char *path, size_t given, const char *pattern, size_t wanted, DwPairs *parts)
{
    size_t length;
    char *text = dw_pairs_decode(path, given, false, &length);
    bool fits = dw_text_is_utf8(text, length);
    if (*pattern != ':')
        fits = fits && length == wanted && strncmp(text, pattern, wanted) == 0;
    else if (fits && parts) {
        char *name = dw_text_format("%.*s", (int)wanted - 1, pattern + 1);
        dw_pairs_add(parts, name, text);
        free(name);
    }
    free(text);
    return fits;
}

bool dw_request_fits(const char *path, const char *pattern, DwPairs *parts)
{
    for (;;) {
        path += strspn(path, "/");
        pattern += strspn(pattern, "/");
        size_t given = strcspn(path, "/"), wanted = strcspn(pattern, "/");
        if (given == 0 || wanted == 0)
            return given == wanted;
        if (!fits_part(path, given, pattern, wanted, parts))
            return false;
        path += given;
        pattern += wanted;
    }
}
