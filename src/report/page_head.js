/* Before anything is drawn: the page has its scripts, and the picture waits until it is whole (it would be laid out
 * anew with every part that arrives). */
'use strict';
document.documentElement.classList.add('scripted', 'arriving');
