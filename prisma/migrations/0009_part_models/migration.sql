-- The models that a part is known to fit, which says more than a kind of machine does.

ALTER TABLE "Part" ADD COLUMN "fitsModels" JSONB NOT NULL DEFAULT '[]',
  ADD CONSTRAINT part_fits_models CHECK (jsonb_typeof("fitsModels") = 'array');
