using Contracts.Books.Packet;
using static Contracts.Books.Month.Table;

namespace Contracts.Books.Month;

/// <summary>Opening, what moved and why, closing: for what is deferred, credited, owed in tax, out on rent, and for equity.</summary>
internal static class RollForwardReports
{
    private sealed record Step(string Id, string Title, params Movement[] Movements);

    public static Report Deferred(MonthEndFigures month, Chart chart, Evidence evidence) => RollForward(
        month, chart, evidence, "deferred", "Deferred rent and protection plan",
        "What was charged for days still to come. Earned by day over each period; the rest on the day a contract ends.", -1,
        [BookAccount.DeferredRent, BookAccount.DeferredPlan],
        new Step("charged", "charged", Movement.Charged), new Step("takenBack", "taken back", Movement.ChargeReversed),
        new Step("earned", "earned by day", Movement.Released), new Step("atEnd", "earned at an end", Movement.ReleasedAtEnd));

    public static Report Credits(MonthEndFigures month, Chart chart, Evidence evidence) => RollForward(
        month, chart, evidence, "credits", "Credits of families",
        "Money or credit that waits. Goodwill and merchandise credit are never paid out.", -1,
        [BookAccount.UnappliedCredit, BookAccount.GoodwillCredit, BookAccount.MerchandiseCredit, BookAccount.StepUpCredit],
        new Step("received", "received or given", Movement.Received, Movement.Given, Movement.Charged),
        new Step("settled", "used", Movement.Settled, Movement.ChargeReversed),
        new Step("reopened", "reopened", Movement.Reopened),
        new Step("refunded", "refunded", Movement.Refunded), new Step("reversed", "reversed", Movement.PaymentReversed));

    public static Report Equity(MonthEndFigures month, Chart chart, Evidence evidence) => RollForward(
        month, chart, evidence, "equity-memo", "Rental equity (memo)",
        "What families could still use toward a purchase. An option of the family, no debt of the shop: outside the balance sheet (docs/accounting.md).", 1,
        [BookAccount.EquityHeld],
        new Step("earned", "earned", Movement.Earned), new Step("unearned", "taken back", Movement.Unearned),
        new Step("used", "used", Movement.Used), new Step("lapsed", "lapsed", Movement.Lapsed),
        new Step("restored", "restored", Movement.Restored), new Step("notCarried", "not carried", Movement.NotCarried));

    public static Report Fleet(MonthEndFigures month, Chart chart, Evidence evidence) => RollForward(
        month, chart, evidence, "fleet", "Fleet: cost, and units on rent",
        "Cost in dollars; units on rent in units. A swap moves neither: the unit that goes out takes the place and the cost of the one that comes back.", 1,
        [BookAccount.FleetOnRent, BookAccount.FleetInStore, BookAccount.UnitsOnRent],
        new Step("placed", "placed", Movement.Placed), new Step("returned", "returned", Movement.BackInStore),
        new Step("sold", "sold", Movement.Sold), new Step("lost", "lost", Movement.Lost), new Step("found", "found", Movement.Found));

    public static Report SalesTax(MonthEndFigures month, Chart chart, Evidence evidence)
    {
        var table = new Table(
            "sales-tax", "Sales tax payable by authority",
            "As charged, whether collected or not. Regimes and rates are data; tax rules vary by state. Not tax advice.",
            Words("authority", "authority"), Amount("opening", "opening"), Amount("charged", "charged"),
            Amount("takenBack", "taken back"), Amount("onCost", "on cost"), Amount("closing", "closing"));
        var sum = new Money[5];
        var totals = month.Totals;
        foreach (var authority in totals.Before.Concat(totals.During).Where(total => total.Account == BookAccount.SalesTaxPayable)
            .Select(total => total.Authority).Distinct().Order(StringComparer.Ordinal))
        {
            Money Of(IEnumerable<AccountTotal> where, Movement? movement) => Money.Zero - where
                .Where(total => total.Account == BookAccount.SalesTaxPayable && total.Authority == authority && (movement is null || total.Movement == movement))
                .Aggregate(Money.Zero, (all, total) => all + total.Amount);
            Money[] figures =
            [
                Of(totals.Before, null), Of(totals.During, Movement.Charged), Of(totals.During, Movement.ChargeReversed),
                Of(totals.During, Movement.TaxedOnCost), Of(totals.Before, null) + Of(totals.During, null),
            ];
            table.Line(evidence.Of(BookAccount.SalesTaxPayable, authority), [Cell.Of(authority), .. figures.Select(Cell.Of)]);
            for (var index = 0; index < sum.Length; index++) { sum[index] += figures[index]; }
        }

        return table.Total([Cell.Of("total"), .. sum.Select(Cell.Of)]).Done();
    }

    private static Report RollForward(
        MonthEndFigures month, Chart chart, Evidence evidence, string id, string title, string note, int sign,
        BookAccount[] accounts, params Step[] steps)
    {
        var table = new Table(
            id, title, note,
            [
                Words("number", "no."), Words("account", "account"), Amount("opening", "opening"),
                .. steps.Select(step => Amount(step.Id, step.Title)), Amount("other", "other"), Amount("closing", "closing"),
            ]);
        foreach (var account in accounts)
        {
            var (opening, closing) = (month.Totals.Opening(account).Times(sign), month.Totals.Closing(account).Times(sign));
            var moved = steps.Select(step => step.Movements.Aggregate(Money.Zero, (sum, movement) => sum + month.Totals.Moved(account, movement).Times(sign))).ToList();
            var other = moved.Aggregate(closing - opening, (rest, amount) => rest - amount);
            table.Line(
                evidence.Of(account),
                [.. Name(chart, account), Cell.Of(opening), .. moved.Select(Cell.Of), Cell.Of(other), Cell.Of(closing)]);
        }

        return table.Done();
    }
}
