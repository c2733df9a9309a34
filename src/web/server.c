// SPDX-License-Identifier: MIT
#include "web/server.h"

#include "base/memory.h"
#include "base/text.h"
#include "web/private.h"
#include "web/words.h"

#include <arpa/inet.h>
#include <errno.h>
#include <microhttpd.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    USUAL_PORT = 8710,
    QUIET_SECONDS = 30,   // a connection that says nothing is closed
    MOST_BODY = 4 << 20,  // bytes of a form; files go to the disk
    MOST_FIELD = 2 << 20, // a signature is a picture
};

const DwWebRoute *const dw_routes[] = {
    dw_routes_board,
    dw_routes_asset,
    dw_routes_measure,
    dw_routes_setup,
    dw_routes_sheet,
    dw_routes_sheet_files,
    NULL,
};

typedef struct {
    DwServer *server;
    const DwWebRoute *route;
} Bound;

static void nothing_there(DwVisit *visit)
{
    dw_visit_refuse(visit, 404, _("There is no such page. The address may be mistyped, or the entry is gone."));
}

static const DwWebRoute missing = {"GET", "", nothing_there, false};

static int answer(const struct _u_request *request, struct _u_response *response, void *user)
{
    Bound *bound = user;
    dw_guard_answer(bound->server, bound->route, request, response);
    return U_CALLBACK_COMPLETE;
}

static int answer_missing(const struct _u_request *request, struct _u_response *response, void *user)
{
    dw_guard_answer(user, &missing, request, response);
    return U_CALLBACK_COMPLETE;
}

DwStatus dw_server_lend_book(DwServer *server, DwBook **book, DwMessage *message)
{
    *book = NULL;
    pthread_mutex_lock(&server->books_lock);
    if (server->book_count)
        *book = server->books[--server->book_count];
    pthread_mutex_unlock(&server->books_lock);
    return *book ? DW_OK : dw_book_open(server->folder, book, message);
}

void dw_server_return_book(DwServer *server, DwBook *book)
{
    pthread_mutex_lock(&server->books_lock);
    bool kept = server->book_count < DW_BOOKS_KEPT;
    if (kept)
        server->books[server->book_count++] = book;
    pthread_mutex_unlock(&server->books_lock);
    if (!kept)
        dw_book_close(book);
}

// Ulfius copies an endpoint but keeps its user data as it is: BOUNDS outlives it.
static void add_routes(DwServer *server)
{
    size_t count = 0;
    for (size_t i = 0; dw_routes[i]; i++)
        for (const DwWebRoute *route = dw_routes[i]; route->method; route++)
            count++;
    Bound *bounds = dw_memory_new(count + 1, sizeof *bounds);
    server->bounds = bounds;
    for (size_t i = 0; dw_routes[i]; i++)
        for (const DwWebRoute *route = dw_routes[i]; route->method; route++) {
            *bounds = (Bound){server, route};
            ulfius_add_endpoint_by_val(&server->instance, route->method, NULL, route->pattern, 0, answer, bounds++);
        }
    ulfius_set_default_endpoint(&server->instance, answer_missing, server);
}

// The port that it listens at, which the system may have chosen.
static unsigned bound_port(const DwServer *server)
{
    const union MHD_DaemonInfo *info = MHD_get_daemon_info(server->instance.mhd_daemon, MHD_DAEMON_INFO_LISTEN_FD);
    struct sockaddr_in place = server->place;
    socklen_t size = sizeof place;
    if (info)
        getsockname(info->listen_fd, (struct sockaddr *)&place, &size);
    return ntohs(place.sin_port);
}

static void name_hosts(DwServer *server, const DwServerSettings *settings, const char *address, unsigned port)
{
    const char *names[] = {"localhost", "127.0.0.1", strcmp(address, "127.0.0.1") ? address : NULL, settings->name};
    size_t count = 0;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (names[i])
            server->hosts[count++] = dw_text_format("%s:%u", names[i], port);
}

// The whole of the file at PATH as text; NULL when it cannot be read.
static char *whole_file(const char *path)
{
    FILE *file = fopen(path, "re");
    if (!file)
        return NULL;
    DwText text = {0};
    char block[4096];
    size_t got;
    while ((got = fread(block, 1, sizeof block, file)))
        dw_text_add(&text, "%.*s", (int)got, block);
    fclose(file);
    return dw_text_take(&text);
}

static DwStatus listen_secure(DwServer *server, const DwServerSettings *settings, int *started, DwMessage *message)
{
    char *key = whole_file(settings->key);
    char *certificate = whole_file(settings->certificate);
    DwStatus status = DW_OK;
    if (!key || !certificate)
        status = dw_fail(message, DW_BAD_INPUT, "%s cannot be read: %s.", key ? settings->certificate : settings->key,
                         strerror(errno));
    else
        *started = ulfius_start_secure_framework(&server->instance, key, certificate);
    free(key);
    free(certificate);
    return status;
}

static DwStatus begin_listening(DwServer *server, const DwServerSettings *settings, DwMessage *message)
{
    int started = U_ERROR;
    if (server->secure) {
        DwStatus status = listen_secure(server, settings, &started, message);
        if (status != DW_OK)
            return status;
    } else
        started = ulfius_start_framework(&server->instance);
    if (started == U_OK)
        return DW_OK;
    return dw_fail(message, DW_FAILED,
                   "The bench cannot listen at port %u%s. Is it running already? Give another port=.", settings->port,
                   server->secure ? " with this certificate" : "");
}

static DwStatus check_book(const DwServer *server, DwMessage *message)
{
    DwBook *book;
    DwStatus status = dw_book_open(server->folder, &book, message);
    if (status == DW_OK)
        dw_book_close(book);
    return status;
}

static DwStatus prepare(DwServer *server, const DwServerSettings *settings, const char *address, DwMessage *message)
{
    server->place = (struct sockaddr_in){.sin_family = AF_INET, .sin_port = htons((uint16_t)settings->port)};
    if (inet_pton(AF_INET, address, &server->place.sin_addr) != 1)
        return dw_fail(message, DW_BAD_INPUT,
                       "'%s' is no address to listen at. Give one such as 192.168.1.20, or 0.0.0.0.", address);
    server->loopback = ntohl(server->place.sin_addr.s_addr) >> 24 == 127;
    server->secure = settings->certificate && settings->key;
    DwStatus status = check_book(server, message);
    if (status == DW_OK)
        status = dw_access_new(&server->access, message);
    if (status != DW_OK)
        return status;
    server->uploads = dw_uploads_new(server->folder);
    server->results = dw_results_new();
    dw_words_init();
    // Ulfius refuses a port 0, by which the system chooses; the place's own port is the one that counts.
    if (ulfius_init_instance(&server->instance, settings->port ? settings->port : USUAL_PORT, &server->place, NULL) !=
        U_OK)
        return dw_fail(message, DW_FAILED, "The web server could not be made ready.");
    server->ready = true;
    server->instance.timeout = QUIET_SECONDS;
    server->instance.max_post_body_size = MOST_BODY;
    server->instance.max_post_param_size = MOST_FIELD;
    ulfius_set_upload_file_callback_function(&server->instance, dw_uploads_take, server);
    add_routes(server);
    return begin_listening(server, settings, message);
}

DwStatus dw_server_start(const DwServerSettings *settings, DwServer **server, DwMessage *message)
{
    const char *address = settings->address ? settings->address : "127.0.0.1";
    DwServer *made = dw_memory_new(1, sizeof *made);
    made->folder = dw_memory_text(settings->book);
    pthread_mutex_init(&made->books_lock, NULL);
    signal(SIGPIPE, SIG_IGN); // a device that goes away in the middle is no reason to end
    DwStatus status = prepare(made, settings, address, message);
    if (status != DW_OK) {
        dw_server_stop(made);
        return status;
    }
    unsigned port = bound_port(made);
    name_hosts(made, settings, address, port);
    made->url =
        dw_text_format("%s://%s:%u/", made->secure ? "https" : "http", settings->name ? settings->name : address, port);
    *server = made;
    return DW_OK;
}

void dw_server_stop(DwServer *server)
{
    if (!server)
        return;
    if (server->ready) {
        ulfius_stop_framework(&server->instance);
        ulfius_clean_instance(&server->instance);
    }
    for (size_t i = 0; i < server->book_count; i++)
        dw_book_close(server->books[i]);
    for (size_t i = 0; i < sizeof server->hosts / sizeof *server->hosts; i++)
        free(server->hosts[i]);
    dw_uploads_free(server->uploads);
    dw_results_free(server->results);
    dw_access_free(server->access);
    pthread_mutex_destroy(&server->books_lock);
    free(server->bounds);
    free(server->folder);
    free(server->url);
    free(server);
}

const char *dw_server_url(const DwServer *server)
{
    return server->url;
}
