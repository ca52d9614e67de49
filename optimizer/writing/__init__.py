"""Words: the only place that fills a sentence, a table, a document or a drawing."""
