/**
 * What is kept twice must agree: sums that are stored beside their parts, and money that was booked with a record. Each
 * check is one statement that finds what does not, within the shop that the transaction has chosen.
 */
export interface Check {
  code: string;
  /** What is so when all is well. */
  rule: string;
  /** Rows of `record`, `id` and `found`, which says in words what is wrong; no rows when all is well. */
  sql: string;
}

export const checks: readonly Check[] = [
  {
    code: 'stock-quantity',
    rule: 'A bin holds what its movements add up to.',
    sql: `select 'Stock' as record, s.id,
      format('bin %s holds %s, its movements add up to %s', s.bin, s.quantity,
      coalesce(sum(m.change), 0)
      ) as found
      from "Stock" s left join "StockMovement" m on m."stockId" = s.id
      group by s.id having s.quantity <> coalesce(sum(m.change), 0)`,
  },
  {
    code: 'line-received',
    rule: 'An order line has received what came in good condition, less what went back.',
    sql: `select 'OrderLine' as record, l.id,
      format('received %s, its receipts add up to %s', l."quantityReceived",
      coalesce(sum(r.quantity - r.back), 0)
      ) as found
      from "OrderLine" l left join (
        select r."orderLineId", r.quantity, coalesce((select sum(b.quantity) from "PartReturn" b where b."receiptId" = r.id), 0) as back
        from "Receipt" r where r.condition = 'good') r on r."orderLineId" = l.id
      group by l.id having l."quantityReceived" <> coalesce(sum(r.quantity - r.back), 0)`,
  },
  {
    code: 'order-shares',
    rule: "An order's shipping and tax lie on its lines to the last unit, unless all of them were cancelled.",
    sql: `select 'Order' as record, o.id,
      format('shipping %s and tax %s, on the lines lie %s and %s',
         o."shippingCost", o."taxCost", sum(l."shippingShare"), sum(l."taxShare")) as found
      from "Order" o join "OrderLine" l on l."orderId" = o.id
      group by o.id having (sum(l."shippingShare") <> o."shippingCost" or sum(l."taxShare") <> o."taxCost")
        and not (sum(l."shippingShare") = 0 and sum(l."taxShare") = 0 and bool_and(l."quantityCancelled" = l."quantityOrdered"))`,
  },
  {
    code: 'machine-shares',
    rule: 'The machines of a purchase bear all that it cost.',
    sql: `select 'Acquisition' as record, a.id,
      format('cost %s, its machines bear %s', a.price + a."haulCost" + a.fees, sum(m."acquisitionShare")) as found
      from "Acquisition" a join "Machine" m on m."acquisitionId" = a.id
      group by a.id having sum(m."acquisitionShare") <> a.price + a."haulCost" + a.fees`,
  },
  {
    code: 'harvest-beyond-share',
    rule: 'The parts taken off a machine carry no more than the machine cost.',
    sql: `select 'Machine' as record, m.id,
      format('its share is %s, its parts carry %s', m."acquisitionShare", sum(h."basisMoved")) as found
      from "Machine" m join "Harvest" h on h."machineId" = m.id
      group by m.id having sum(h."basisMoved") > m."acquisitionShare"`,
  },
  {
    code: 'refund-total',
    rule: 'A sale knows the sum of what was paid back and not reversed, and it is no more than the price.',
    sql: `select 'Sale' as record, s.id,
      format('%s paid back, its refunds add up to %s', s."customerRefundTotal", coalesce(sum(r.amount), 0)) as found
      from "Sale" s left join "CustomerRefund" r on r."saleId" = s.id and r."reversedDate" is null
      group by s.id having s."customerRefundTotal" <> coalesce(sum(r.amount), 0) or s."customerRefundTotal" > s.price`,
  },
  {
    code: 'sale-booked',
    rule: "A sale's price stands in the ledger once, and not at all when the sale was reversed.",
    sql: `select 'Sale' as record, s.id,
      format('price %s, in the ledger stand %s',
      case when s."reversedDate" is null then s.price else 0 end, coalesce(sum(e.amount), 0)) as found
      from "Sale" s left join "LedgerEntry" e on e."saleId" = s.id and e.kind = 'saleProceeds'
      group by s.id having coalesce(sum(e.amount), 0) <> case when s."reversedDate" is null then s.price else 0 end`,
  },
  {
    code: 'refund-booked',
    rule: 'What was paid back to a buyer stands in the ledger once, and not at all when it was reversed.',
    sql: `select 'CustomerRefund' as record, r.id,
      format('%s paid back, in the ledger stand %s',
      case when r."reversedDate" is null then r.amount else 0 end, coalesce(sum(e.amount), 0)) as found
      from "CustomerRefund" r left join "LedgerEntry" e on e."customerRefundId" = r.id
      group by r.id having coalesce(sum(e.amount), 0) <> case when r."reversedDate" is null then r.amount else 0 end`,
  },
  {
    code: 'unused-part-charged',
    rule: 'A part that no task has used is charged to no job.',
    sql: `select 'PartNeed' as record, n.id, format('not used, yet %s stand in the ledger', sum(e.amount)) as found
      from "PartNeed" n join "LedgerEntry" e on e."partNeedId" = n.id where n."usedDate" is null
      group by n.id having sum(e.amount) <> 0`,
  },
  {
    code: 'charged-twice',
    rule: 'Of the charges of a part need or a coat at most one stands.',
    sql: `select case when e."coatId" is null then 'PartNeed' else 'Coat' end as record,
      coalesce(e."partNeedId", e."coatId") as id,
      format('%s charges stand', count(*)) as found
      from "LedgerEntry" e where coalesce(e."partNeedId", e."coatId") is not null and e."reversesId" is null
        and not exists (select from "LedgerEntry" r where r."reversesId" = e.id)
      group by e."partNeedId", e."coatId" having count(*) > 1`,
  },
  {
    code: 'archived-coat-charged',
    rule: 'A coat that was archived is charged to no job.',
    sql: `select 'Coat' as record, c.id, format('archived, yet %s stand in the ledger', sum(e.amount)) as found
      from "Coat" c join "LedgerEntry" e on e."coatId" = c.id where c."archivedAt" is not null
      group by c.id having sum(e.amount) <> 0`,
  },
  {
    code: 'job-finished',
    rule: "An open job is finished on the day of its last task's end, and only once all of them have ended.",
    sql: `select 'Job' as record, j.id,
      format('finished %s, by its tasks %s', coalesce(j."finishedDate"::text, 'never'), coalesce(t.day::text, 'never')) as found
      from "Job" j join "Shop" s on s.id = j."shopId" left join lateral (
        select case when bool_and(k."finishedAt" is not null) then (max(k."finishedAt") at time zone s."timeZone")::date end as day
        from "Task" k where k."jobId" = j.id and k."archivedAt" is null) t on true
      where j."closedDate" is null and j."archivedAt" is null and j."finishedDate" is distinct from t.day`,
  },
  {
    code: 'promise-sequence',
    rule: "A supplier's promises for a line are counted from 1 without a gap.",
    sql: `select 'OrderLine' as record, "orderLineId" as id, format('%s promises, counted up to %s', count(*), max(sequence)) as found
      from "Promise" group by "orderLineId" having count(*) <> max(sequence) or min(sequence) <> 1`,
  },
  {
    code: 'sale-tax-booked',
    rule: 'The tax within a price and the cost of selling stand in the ledger once, and not at all when the sale was reversed.',
    sql: `select 'Sale' as record, s.id,
      format('tax %s and selling %s, in the ledger stand %s and %s',
      s."taxCollected", s."sellingCost", coalesce(sum(e.amount) filter (where e.kind = 'tax'), 0),
      coalesce(sum(e.amount) filter (where e.kind = 'selling'), 0)) as found
      from "Sale" s left join "LedgerEntry" e on e."saleId" = s.id
      group by s.id
        having coalesce(sum(e.amount) filter (where e.kind = 'tax'), 0) <>
        case when s."reversedDate" is null and s."taxScheme" = 'marginScheme' then s."taxCollected" else 0 end
        or coalesce(sum(e.amount) filter (where e.kind = 'selling'), 0) <>
          case when s."reversedDate" is null then s."sellingCost" else 0 end`,
  },
  {
    code: 'deposit-held',
    rule: "A buyer's deposit is held until it is part of a price, given back or kept, and the ledger says the same.",
    sql: `select 'BuyerOffer' as record, o.id,
      format('deposit %s, %s; in the ledger %s are held', o.deposit, coalesce(o."depositStatus"::text, 'none'), l.held) as found
      from "BuyerOffer" o cross join lateral (
        select coalesce(sum(case when e.kind::text = 'deposit' then e.amount else -e.amount end), 0) as held from "LedgerEntry" e
        where (e."buyerOfferId" = o.id and e.kind::text in ('deposit', 'depositReturned', 'depositForfeited'))
          or (e.kind::text = 'depositApplied' and exists (select from "Sale" s where s.id = e."saleId" and s."buyerOfferId" = o.id))) l
      where l.held <> case when o."depositStatus" = 'held' then o.deposit else 0 end`,
  },
  {
    code: 'ask-changed',
    rule: 'What a machine is offered at is the last change of its ask.',
    sql: `select 'Offer' as record, o.id, format('asks %s, last changed to %s', o."askPrice", c."askPrice") as found
      from "Offer" o cross join lateral (
        select a."askPrice" from "AskChange" a where a."offerId" = o.id order by a."fromDate" desc, a.id desc limit 1) c
      where c."askPrice" <> o."askPrice"`,
  },
  {
    code: 'purchase-booked',
    rule: 'What a machine was bought for stands in the ledger of its first job, and of no other.',
    sql: `select 'Job' as record, j.id, format('its machine was bought for %s, in its ledger stand %s',
        case when j.id = f.id then m."acquisitionShare" else 0 end, coalesce(sum(e.amount), 0)) as found
      from "Job" j join "Machine" m on m.id = j."machineId"
        left join lateral (select o.id from "Job" o
        where o."machineId" = m.id and o."archivedAt" is null order by o.number limit 1) f on true
        left join "LedgerEntry" e on e."jobId" = j.id and e.kind::text = 'purchase'
      group by j.id, f.id, m.id having coalesce(sum(e.amount), 0) <> case when j.id = f.id then m."acquisitionShare" else 0 end`,
  },
  {
    code: 'margin-tax',
    rule: 'The tax that a margin scheme takes out of a sale is no more than the rate of all that was kept of the price.',
    sql: `select 'Sale' as record, s.id, format('tax %s of a price of %s, of which %s were paid back',
        s."taxCollected", s.price, s."customerRefundTotal") as found
      from "Sale" s where s."taxScheme" = 'marginScheme' and s."reversedDate" is null
        and s."taxCollected" > round((s.price - s."customerRefundTotal") * s."taxRatePercent" / (100 + s."taxRatePercent"), 4) + 0.005`,
  },
  {
    code: 'trade-in',
    rule: 'What a sale allows for a machine taken in trade is what that machine was bought for.',
    sql: `select 'Sale' as record, s.id, format('allows %s, bought for %s', s."tradeInAllowance", coalesce(a.price, 0)) as found
      from "Sale" s left join "Acquisition" a on a.id = s."tradeInAcquisitionId"
      where s."reversedDate" is null and s."tradeInAllowance" <> coalesce(a.price, 0)`,
  },
  {
    code: 'first-estimate',
    rule: 'The causes of a first estimate add up to its likely total.',
    sql: `select 'FirstEstimate' as record, f.id, format('likely %s, its causes add up to %s',
        f.likely, f.purchase + f.labour + f.parts + f.paint + f.space + f.other + f.surprises) as found
      from "FirstEstimate" f where f.likely <> f.purchase + f.labour + f.parts + f.paint + f.space + f.other + f.surprises`,
  },
  {
    code: 'task-finding',
    rule: 'A task and the findings it is for belong to one job.',
    sql: `select 'TaskFinding' as record, x.id, 'its task is of another job than its finding' as found
      from "TaskFinding" x join "Task" t on t.id = x."taskId" join "Finding" f on f.id = x."findingId"
      where f."jobId" is distinct from t."jobId"`,
  },
  {
    code: 'task-skipped',
    rule: 'A task that was left out has not begun, and the order goes on over it.',
    sql: `select 'Task' as record, t.id, 'it was left out, and begun or waited for by itself alone' as found
      from "Task" t where t."skippedReason" is not null and (t."startedAt" is not null or exists (
        select from "TaskLink" a join "Task" follower on follower.id = a."taskId" and follower."archivedAt" is null
          join "TaskLink" b on b."taskId" = t.id join "Task" before on before.id = b."predecessorId" and before."archivedAt" is null
        where a."predecessorId" = t.id
          and not exists (select from "TaskLink" c where c."taskId" = follower.id and c."predecessorId" = before.id)))`,
  },
  {
    code: 'scope-nothing-left',
    rule: 'On a machine that is taken apart for its parts no task is left to do.',
    sql: `select 'Job' as record, j.id, format('task %s is still to do', t.code) as found
      from "Job" j join "Task" t on t."jobId" = j.id and t."archivedAt" is null and t."startedAt" is null
      where j.scope = 'stripForParts' and j."closedDate" is null`,
  },
];
