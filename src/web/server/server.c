// SPDX-License-Identifier: MIT
#include "web/server/server.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/shop/settings.h"
#include "web/server/password.h"
#include "web/server/private.h"
#include "web/server/words.h"

#include <arpa/inet.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static DwBook *take_kept(DwServer *server)
{
    pthread_mutex_lock(&server->books_lock);
    DwBook *book = server->book_count ? server->books[--server->book_count] : NULL;
    pthread_mutex_unlock(&server->books_lock);
    return book;
}

DwStatus dw_server_lend_book(DwServer *server, DwBook **book, DwMessage *message)
{
    *book = take_kept(server);
    DwStatus status = *book ? dw_book_take_up(*book, message) : dw_book_open(server->folder, book, message);
    if (status == DW_OK)
        dw_book_set_away(*book, true); // until it is known who asks
    else if (*book) {
        dw_server_return_book(server, *book);
        *book = NULL;
    }
    return status;
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

// The book can be opened, and has a password when others can reach it. It stays open: while the bench runs, its files
// stay where they are.
static DwStatus check_book(DwServer *server, DwMessage *message)
{
    DwBook *book;
    DwStatus status = dw_book_open(server->folder, &book, message);
    if (status != DW_OK)
        return status;
    if (!server->loopback && !dw_password_is_set(book))
        status = dw_fail(message, DW_BAD_INPUT,
                         "Whoever reaches the bench from another device must show a password, and the book has none. "
                         "Set one with 'deckwright bench password', then start again.");
    server->mark = dw_book_mark(book);
    dw_server_return_book(server, book);
    return status;
}

// Tells the network, in the shop's own name, where it is.
static void announce(DwServer *server)
{
    DwBook *book;
    if (server->loopback || dw_server_lend_book(server, &book, NULL) != DW_OK)
        return;
    char *shop = dw_settings_text(book, "shop.name");
    char *name = *shop ? dw_text_format("Deckwright, %s", shop) : dw_memory_text("Deckwright");
    dw_server_return_book(server, book);
    server->announce = dw_announce_new(name, server->port, server->secure);
    free(shop);
    free(name);
}

static DwStatus prepare(DwServer *server, const DwServerSettings *settings, const char *address, DwMessage *message)
{
    server->place = (struct sockaddr_in){.sin_family = AF_INET, .sin_port = htons((uint16_t)settings->port)};
    if (inet_pton(AF_INET, address, &server->place.sin_addr) != 1)
        return dw_fail(message, DW_BAD_INPUT,
                       "'%s' is no address to listen at. Give one such as 192.168.1.20, or 0.0.0.0.", address);
    server->loopback = ntohl(server->place.sin_addr.s_addr) >> 24 == 127;
    DwStatus status = check_book(server, message);
    if (status == DW_OK)
        status = dw_hold_bench(server->folder, &server->hold, message);
    if (status == DW_OK)
        status = dw_access_new(&server->access, message);
    if (status != DW_OK)
        return status;
    // Before anybody can ask; the system's own choice of a port is known only after.
    dw_host_name(server, address, settings->name);
    server->outside_name = dw_memory_text(settings->name);
    server->port = settings->port;
    server->once = dw_once_new();
    server->uploads = dw_uploads_new(server->folder);
    server->watch = dw_watch_new();
    dw_words_init();
    dw_message_for_pages(dw_server_page_lines);
    return dw_listen_begin(server, settings, message);
}

DwStatus dw_server_start(const DwServerSettings *settings, const DwSite *site, DwServer **server, DwMessage *message)
{
    const char *address = settings->address ? settings->address : "127.0.0.1";
    DwServer *made = dw_memory_new(1, sizeof *made);
    made->site = site;
    made->folder = dw_memory_text(settings->book);
    pthread_mutex_init(&made->books_lock, NULL);
    signal(SIGPIPE, SIG_IGN); // a device that goes away in the middle is no reason to end
    DwStatus status = prepare(made, settings, address, message);
    if (status != DW_OK) {
        dw_server_stop(made);
        return status;
    }
    bool here = made->loopback || made->place.sin_addr.s_addr == htonl(INADDR_ANY);
    made->outside = dw_host_outside(made);
    made->url = here ? dw_text_format("%s://%s:%u/", made->secure ? "https" : "http",
                                      made->loopback ? address : "127.0.0.1", made->port)
                     : dw_text_format("%s/", made->outside);
    dw_hold_tell(made->hold, made->url, made->mark);
    dw_uploads_clear_old(made->uploads);
    announce(made);
    *server = made;
    return DW_OK;
}

void dw_server_stop(DwServer *server)
{
    if (!server)
        return;
    dw_announce_free(server->announce);
    dw_listen_end(server);
    dw_hold_tell(server->hold, "just ending", NULL);
    for (size_t i = 0; i < server->book_count; i++)
        dw_book_close(server->books[i]);
    for (size_t i = 0; i < DW_HOSTS_MOST; i++)
        free(server->names[i]);
    dw_watch_free(server->watch);
    dw_once_free(server->once);
    dw_uploads_free(server->uploads);
    dw_access_free(server->access);
    dw_hold_end(server->hold);
    pthread_mutex_destroy(&server->books_lock);
    free(server->folder);
    free(server->mark);
    free(server->url);
    free(server->outside);
    free(server->outside_name);
    free(server);
}

const char *dw_server_url(const DwServer *server)
{
    return server->url;
}

const char *dw_server_outside(const DwServer *server)
{
    return server->outside;
}
