// SPDX-License-Identifier: MIT
// How the server listens: how many devices at once, how long one may be silent,
// and the shop's certificate.
#include "base/small_file.h"
#include "web/server/private.h"

#include <gnutls/gnutls.h>
#include <gnutls/x509.h>
#include <microhttpd.h>
#include <stdlib.h>
#include <string.h>

enum {
    MOST_CONNECTIONS = DW_WATCH_ALL + 80, // some are being closed when others come (watch.c)
    QUIET_SECONDS = 30,                   // a connection that says nothing is closed
    HEAD_BYTES = 128 << 10, // the library's room for a request's head; the gate refuses sooner and says so
    OPTIONS = 11,
};

enum { PEM_BYTES = 1 << 20 };

// The text of a PEM file; NULL when it cannot be read.
static char *pem(const char *path, DwMessage *message)
{
    char *text;
    size_t length;
    if (dw_small_file_read(path, PEM_BYTES, &text, &length, message) != DW_OK)
        return NULL;
    if (length)
        return text;
    dw_fail(message, DW_BAD_INPUT, "%s is empty.", path);
    free(text);
    return NULL;
}

// Whether the two belong together: what TLS itself would find out at the first request.
static DwStatus check_pair(const DwServerSettings *settings, const char *certificate, const char *key,
                           DwMessage *message)
{
    gnutls_certificate_credentials_t both;
    if (gnutls_certificate_allocate_credentials(&both) != GNUTLS_E_SUCCESS)
        return dw_fail(message, DW_FAILED, "TLS could not be made ready.");
    gnutls_datum_t first = {(unsigned char *)certificate, (unsigned)strlen(certificate)};
    gnutls_datum_t second = {(unsigned char *)key, (unsigned)strlen(key)};
    int code = gnutls_certificate_set_x509_key_mem(both, &first, &second, GNUTLS_X509_FMT_PEM);
    gnutls_certificate_free_credentials(both);
    if (code >= 0)
        return DW_OK;
    return dw_fail(
        message, DW_BAD_INPUT,
        "The certificate %s and the key %s cannot be used (%s). Give two PEM files that belong together, the "
        "key without a password.",
        settings->certificate, settings->key, gnutls_strerror(code));
}

static DwStatus read_pair(const DwServerSettings *settings, char **certificate, char **key, DwMessage *message)
{
    if (!settings->certificate != !settings->key)
        return dw_fail(message, DW_BAD_INPUT, "A certificate and its key go together: give certificate= and key=.");
    if (!settings->certificate)
        return DW_OK;
    *certificate = pem(settings->certificate, message);
    *key = *certificate ? pem(settings->key, message) : NULL;
    return *key ? check_pair(settings, *certificate, *key, message) : DW_BAD_INPUT;
}

// TLS 1.2 and 1.3; the versions before are broken (RFC 8996, 2021).
static const char tls_versions[] = "NORMAL:-VERS-ALL:+VERS-TLS1.3:+VERS-TLS1.2";

static bool start(DwServer *server, char *certificate, char *key)
{
    struct MHD_OptionItem options[OPTIONS] = {
        {MHD_OPTION_NOTIFY_COMPLETED, (intptr_t)dw_exchange_end, server},
        {MHD_OPTION_URI_LOG_CALLBACK, (intptr_t)dw_exchange_begin, server},
        {MHD_OPTION_NOTIFY_CONNECTION, (intptr_t)dw_watch_connection, server->watch},
        {MHD_OPTION_SOCK_ADDR, 0, &server->place},
        {MHD_OPTION_CONNECTION_LIMIT, MOST_CONNECTIONS, NULL},
        {MHD_OPTION_CONNECTION_TIMEOUT, QUIET_SECONDS, NULL},
        {MHD_OPTION_CONNECTION_MEMORY_LIMIT, HEAD_BYTES, NULL},
    };
    unsigned flags = MHD_USE_THREAD_PER_CONNECTION | MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_POLL;
    size_t count = 7;
    if (certificate) {
        flags |= MHD_USE_TLS;
        options[count++] = (struct MHD_OptionItem){MHD_OPTION_HTTPS_MEM_KEY, 0, key};
        options[count++] = (struct MHD_OptionItem){MHD_OPTION_HTTPS_MEM_CERT, 0, certificate};
        options[count++] = (struct MHD_OptionItem){MHD_OPTION_HTTPS_PRIORITIES, 0, (void *)tls_versions};
    }
    options[count] = (struct MHD_OptionItem){MHD_OPTION_END, 0, NULL};
    server->daemon = MHD_start_daemon(flags, ntohs(server->place.sin_port), NULL, NULL, dw_exchange_step, server,
                                      MHD_OPTION_ARRAY, options, MHD_OPTION_END);
    return server->daemon != NULL;
}

// The port that it listens at, which the system may have chosen.
static unsigned bound_port(const DwServer *server)
{
    const union MHD_DaemonInfo *info = MHD_get_daemon_info(server->daemon, MHD_DAEMON_INFO_LISTEN_FD);
    struct sockaddr_in place = server->place;
    socklen_t size = sizeof place;
    if (info)
        getsockname(info->listen_fd, (struct sockaddr *)&place, &size);
    return ntohs(place.sin_port);
}

DwStatus dw_listen_begin(DwServer *server, const DwServerSettings *settings, DwMessage *message)
{
    char *certificate = NULL, *key = NULL;
    DwStatus status = read_pair(settings, &certificate, &key, message);
    server->secure = certificate != NULL;
    if (status == DW_OK && !start(server, certificate, key))
        status = dw_fail(message, DW_FAILED,
                         "The bench cannot listen at port %u of that address. Is it running already? Give another "
                         "port= or listen=.",
                         settings->port);
    if (status == DW_OK)
        server->port = bound_port(server);
    free(certificate);
    free(key);
    return status;
}

void dw_listen_end(DwServer *server)
{
    if (server->daemon)
        MHD_stop_daemon(server->daemon);
    server->daemon = NULL;
}
