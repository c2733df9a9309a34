// SPDX-License-Identifier: MIT
#include "web/server/private.h"

#include "base/memory.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>

enum { STRANGER_BYTES = 64 << 10 }; // of a form whose sender was not looked at yet

DwIncoming *dw_incoming_new(DwServer *server, const char *address)
{
    DwIncoming *incoming = dw_memory_new(1, sizeof *incoming);
    size_t path = strcspn(address, "?");
    incoming->server = server;
    incoming->address = dw_memory_text(address);
    incoming->path = dw_text_format("%.*s", (int)path, address);
    // What is no text of it is as if it were not there: no page of ours makes such an address.
    if (address[path])
        free(dw_pairs_read(&incoming->query, address + path + 1, strlen(address + path + 1)));
    return incoming;
}

void dw_incoming_free(DwIncoming *incoming)
{
    if (!incoming)
        return;
    dw_upload_end(incoming->server->uploads, &incoming->uploads);
    dw_body_free(incoming->body);
    dw_pairs_clear(&incoming->query);
    dw_pairs_clear(&incoming->parts);
    dw_pairs_clear(&incoming->headers);
    dw_pairs_clear(&incoming->cookies);
    free(incoming->method);
    free(incoming->address);
    free(incoming->path);
    free(incoming);
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
static bool is_admitted(DwIncoming *incoming)
{
    if (!incoming->admitted) {
        incoming->admitted = dw_gate_admits(incoming->server, incoming);
        if (incoming->admitted)
            dw_watch_allow(incoming->server->watch, incoming);
    }
    return incoming->admitted;
}

static void begin_file(void *context, const char *field, const char *name)
{
    DwIncoming *incoming = context;
    if (!*name || !is_admitted(incoming)) // a field for files in which none was chosen has no name
        dw_upload_skip(&incoming->uploads);
    else
        dw_upload_begin(incoming->server->uploads, &incoming->uploads, field, name);
}

static void take_file(void *context, const char *bytes, size_t length)
{
    DwIncoming *incoming = context;
    dw_upload_more(&incoming->uploads, bytes, length);
}

void dw_incoming_head(DwIncoming *incoming, struct MHD_Connection *connection, const char *method)
{
    incoming->method = dw_memory_text(method);
    MHD_get_connection_values(connection, MHD_HEADER_KIND, note, &incoming->headers);
    MHD_get_connection_values(connection, MHD_COOKIE_KIND, note, &incoming->cookies);
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    const struct sockaddr *client = info ? info->client_addr : NULL;
    if (client && client->sa_family == AF_INET)
        incoming->client = ntohl(((const struct sockaddr_in *)(const void *)client)->sin_addr.s_addr);
    if (strcmp(method, "POST") == 0)
        incoming->body =
            dw_body_new(dw_incoming_header(incoming, "Content-Type"), (DwBodyFiles){begin_file, take_file, incoming});
}

void dw_incoming_take(DwIncoming *incoming, const char *bytes, size_t length)
{
    incoming->received += length;
    if (!incoming->body || incoming->stopped)
        return;
    if (incoming->received > STRANGER_BYTES && !is_admitted(incoming)) {
        incoming->stopped = true;
        dw_body_stop(incoming->body);
    }
    dw_body_push(incoming->body, bytes, length);
}

const char *dw_incoming_header(const DwIncoming *incoming, const char *name)
{
    const char *value = dw_pairs_find_case(&incoming->headers, name);
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

bool dw_incoming_fits(const char *path, const char *pattern, DwPairs *parts)
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
