-- What machines were bought for before it was booked.

DO $$
DECLARE machine record;
BEGIN
  FOR machine IN SELECT m.id, m."shopId" FROM "Machine" m LOOP
    PERFORM set_config('app.shop_id', machine."shopId"::text, true);
    PERFORM book_purchase(machine.id);
  END LOOP;
  PERFORM set_config('app.shop_id', '', true);
END $$;
