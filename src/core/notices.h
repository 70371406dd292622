/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Notices whose text is put together piece by piece. */
#ifndef KARTWRIGHT_CORE_NOTICES_H
#define KARTWRIGHT_CORE_NOTICES_H

#include "core/text.h"
#include "kartwright/notice.h"

/* Adds one notice with the text that was put together in `text`, which is
 * freed; nothing where that is empty.
 *
 * line     as in struct kw_notice.
 * returns  KW_OK; KW_NO_MEMORY, also where putting it together ran out. */
enum kw_status kw_notices_tell(struct kw_notices *notices,
                               size_t line,
                               struct kw_text *text,
                               struct kw_error *error);

/* Takes out the one at an index: it was said too soon. */
void kw_notices_take_back(struct kw_notices *notices, size_t index);

#endif
