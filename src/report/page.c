/* SPDX-License-Identifier: GPL-3.0-or-later */
/* HTML pages that are whole in one file: each is sent by mail or opened years
 * later from a stick, and asks nothing of a network. No scripts. The look is
 * that of a printed page: one column of text, dark on white, thin rules, and no
 * more colour than the plots need. */
#include "page.h"

#include "core/escape.h"

#include <string.h>

/* A person reads no more; the JSON has them all. */
enum { MOST_NOTICES = 100 };

/* The column is 42rem wide: about 75 letters, as books have. On paper the links
 * to files go, and no figure or suggestion is torn apart. */
static const char style[] =
    "html{font-size:100%;-webkit-text-size-adjust:100%}\n"
    "body{margin:0 auto;padding:1.5rem 1rem 3rem;max-width:42rem;"
    "background:#fff;color:#1a1a1a;"
    "font:1rem/1.5 Georgia,\"DejaVu Serif\",\"Times New Roman\",serif}\n"
    "h1{font-size:1.5rem;line-height:1.25;margin:0 0 .25rem}\n"
    "h2{font-size:1.2rem;line-height:1.3;margin:2.5rem 0 .5rem;"
    "border-bottom:1px solid #1a1a1a;padding-bottom:.2rem}\n"
    "h3{font-size:1rem;line-height:1.4;margin:1.5rem 0 .25rem}\n"
    "p{margin:.5rem 0}\n"
    "ol,ul{margin:.5rem 0;padding-left:1.5rem}\n"
    "li{margin:.25rem 0}\n"
    ".quiet{color:#555;font-size:.9rem}\n"
    ".verdict{border-top:3px double #1a1a1a;border-bottom:3px double #1a1a1a;"
    "padding:.75rem 0;margin:1rem 0;font-size:1.2rem;line-height:1.4;"
    "font-weight:bold}\n"
    ".care{border-left:3px solid #D55E00;padding-left:.75rem}\n"
    "figure{margin:1rem 0 2rem}\n"
    "figure img{display:block;width:100%;height:auto}\n"
    "figure.photo img{width:auto;max-width:100%}\n"
    "figcaption{font-size:.95rem;margin-top:.5rem}\n"
    ".files{font-size:.85rem;color:#555}\n"
    "a{color:#0072B2}\n"
    ".wide{overflow-x:auto;background:"
    "linear-gradient(to right,#fff 40%,#fff0) 0 0/3rem 100% no-repeat local,"
    "linear-gradient(to left,#fff 40%,#fff0) 100% 0/3rem 100% no-repeat local,"
    "linear-gradient(to right,#0004,#0000) 0 0/1rem 100% no-repeat scroll,"
    "linear-gradient(to left,#0004,#0000) 100% 0/1rem 100% no-repeat scroll}\n"
    "table{border-collapse:collapse;font-size:.9rem;width:100%}\n"
    "th,td{text-align:left;vertical-align:top;padding:.25rem .75rem .25rem 0;"
    "border-bottom:1px solid #ccc}\n"
    "tr.open td{border-bottom:0;padding-bottom:0}\n"
    "td.because{color:#333;padding-top:0}\n"
    ".when{font-style:italic;margin:0}\n"
    "th{font-weight:bold;border-bottom-color:#1a1a1a}\n"
    "td.n,th.n{text-align:right;font-variant-numeric:tabular-nums}\n"
    "td.n{white-space:nowrap}\n"
    "@media print{body{max-width:none;padding:0;font-size:10.5pt}"
    "a{color:inherit;text-decoration:none}.files{display:none}"
    "figure,.item,tr{break-inside:avoid}h2,h3{break-after:avoid}"
    ".wide{overflow:visible;background:none}figure img{max-width:13cm}}\n"
    "@page{margin:18mm 16mm}\n";

/* The viewport line makes a phone show the text at reading size instead of a
 * shrunken desktop page. */
void kw_page_begin(struct kw_text *page, const char *title)
{
    kw_text_add(page, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n"
                      "<meta charset=\"utf-8\">\n"
                      "<meta name=\"viewport\" content=\"width=device-width, "
                      "initial-scale=1\">\n");
    kw_page_element(page, "title", title);
    kw_text_add(page, "<style>\n");
    kw_text_add(page, style);
    kw_text_add(page, "</style>\n</head>\n<body>\n");
}

/* With the keyboard it scrolls too. The shade is white where the table ends:
 * the white is fixed to the table and the shade to the box. */
void kw_page_begin_wide(struct kw_text *page)
{
    kw_text_add(page, "<div class=\"wide\" tabindex=\"0\">");
}

/* Closes what kw_page_begin() opened. */
void kw_page_end(struct kw_text *page)
{
    kw_text_add(page, "</body>\n</html>\n");
}

/* The closing tag is the first word of `tag`: what follows it are
 * attributes. */
void kw_page_element(struct kw_text *page, const char *tag, const char *text)
{
    kw_text_addf(page, "<%s>", tag);
    kw_escape_html(page, text);
    kw_text_addf(page, "</%.*s>\n", (int)strcspn(tag, " "), tag);
}

/* Adds an element with text that was put together here, and frees the text. */
void kw_page_text(struct kw_text *page, const char *tag, struct kw_text *text)
{
    if (kw_text_failed(text))
        page->failed = true;
    kw_page_element(page, tag, text->bytes);
    kw_text_free(text);
}

void kw_page_and_more(struct kw_text *page, size_t all, size_t told)
{
    struct kw_text line = {0};
    if (all <= told)
        return;
    kw_text_addf(&line, "And %zu more: see the .json file beside this page.",
                 all - told);
    kw_page_text(page, "p class=\"quiet\"", &line);
}

/* An empty list has no heading either. */
void kw_page_notices(struct kw_text *page,
                     const char *heading,
                     const struct kw_notices *notices)
{
    if (notices == NULL || notices->n == 0)
        return;
    if (heading != NULL)
        kw_page_element(page, "h2", heading);
    kw_text_add(page, "<ul>\n");
    for (size_t i = 0; i < notices->n && i < MOST_NOTICES; i++)
        kw_page_element(page, "li", notices->items[i].text);
    kw_text_add(page, "</ul>\n");
    kw_page_and_more(page, notices->n, MOST_NOTICES);
}

/* Three bytes become four letters; the last group is filled up with "=". */
void kw_page_add_base64(struct kw_text *page, const char *bytes, size_t length)
{
    static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                  "abcdefghijklmnopqrstuvwxyz0123456789+/";
    for (size_t i = 0; i < length; i += 3) {
        const size_t n = length - i < 3 ? length - i : 3;
        uint32_t bits = 0;
        for (size_t j = 0; j < 3; j++)
            bits = bits << 8 | (j < n ? (unsigned char)bytes[i + j] : 0U);
        char four[4];
        for (size_t j = 0; j < 4; j++)
            four[j] = j <= n ? letters[bits >> (18 - 6 * j) & 63U] : '=';
        kw_text_add_bytes(page, four, sizeof four);
    }
}

/* Names are our own words, so nothing needs an escape here. */
static void add_file_link(struct kw_text *page,
                          const char *name,
                          const char *ending)
{
    kw_text_addf(page, " <a href=\"%s.%s\">%s.%s</a>", name, ending, name,
                 ending);
}

/* The picture is part of the page, so that one file can be sent to a friend;
 * the links work while the folder is around it. */
void kw_page_figure(struct kw_text *page,
                    const struct kw_plot *plot,
                    const struct kw_text *svg)
{
    kw_page_element(page, "h3", plot->heading);
    kw_text_add(page, "<figure>\n");
    if (svg != NULL) {
        kw_text_add(page, "<img alt=\"");
        kw_escape_html(page, plot->alt.bytes);
        kw_text_add(page, "\" src=\"data:image/svg+xml;base64,");
        kw_page_add_base64(page, svg->bytes, svg->length);
        kw_text_add(page, "\">\n");
    } else {
        kw_page_element(page, "p class=\"care\"",
                        "This plot is missing: gnuplot did not draw it.");
    }
    kw_text_add(page, "<figcaption>");
    kw_escape_html(page, plot->explain.bytes);
    kw_text_add(page, "<div class=\"files\">Files:");
    if (svg != NULL)
        add_file_link(page, plot->name, "svg");
    if (plot->has_png)
        add_file_link(page, plot->name, "png");
    add_file_link(page, plot->name, "gp");
    add_file_link(page, plot->name, "dat");
    kw_text_add(page, "</div></figcaption>\n</figure>\n");
}
