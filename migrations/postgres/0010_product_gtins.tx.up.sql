-- The trade item numbers on the packages of a product (a JSON list of texts of
-- 14 digits, NULL where none is recorded), by which a scanned code finds it.

ALTER TABLE product ADD COLUMN gtins TEXT COLLATE "C";
