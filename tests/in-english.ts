/** Tests read what errors say: the words are lent to them here, as every program does by having a face. */
import '../src/words/spelled.ts';
