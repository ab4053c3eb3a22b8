-- How much paint a coat took, as stated or computed from its area: what its job is charged with.

ALTER TABLE "Coat" ADD COLUMN "squareMetres" DECIMAL(9,3),
  ADD COLUMN "litresUsed" DECIMAL(10,4),
  ADD CONSTRAINT coat_paint_used CHECK ("squareMetres" > 0 AND "litresUsed" > 0);
