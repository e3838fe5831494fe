using System.Text;
using Contracts.Agreements;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Quotes;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.Quoting;

/// <summary>Prints a quote: as JSON for programs, as tables a family understands, as CSV for sheets.</summary>
internal static class QuotePrinter
{
    private const string Header =
        "on,rent,plan,tax,paidSoFar,equity,priceToOwn,basis,priceTax,totalIfBought,refundIfReturned,costIfReturned,totalToTerm,totalOutright";

    public static void Print(Quote quote, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table: PrintTables(quote); break;
            case OutputFormat.Csv: PrintCsv(quote); break;
            // The very bytes whose digest a recorded quote keeps.
            default: Console.Out.Write(Encoding.UTF8.GetString(QuoteJson.Bytes(quote))); break;
        }
    }

    private static void PrintCsv(Quote quote)
    {
        Console.Out.WriteLine(Header);
        foreach (var (due, month) in quote.Installments.Zip(quote.Months))
        {
            Console.Out.WriteLine(string.Join(
                ',', Iso(month.On), due.Rent, due.Plan, due.Tax, month.PaidSoFar, month.Equity, month.PriceToOwn, AccountCsv.Cell(month.Basis),
                month.PriceTax, month.TotalIfBought, month.RefundIfReturned, month.CostIfReturned, quote.TotalToTerm, quote.TotalOutright));
        }
    }

    private static void PrintTables(Quote quote)
    {
        AnsiConsole.WriteLine(Title(quote));
        AnsiConsole.Write(Ways(quote));
        AnsiConsole.WriteLine("At each due date, when everything so far was paid on its day:");
        AnsiConsole.Write(Months(quote));
        foreach (var basis in quote.Months.Select(month => month.Basis).Distinct().Where(basis => basis is not ("terms" or "none")))
        {
            AnsiConsole.WriteLine($"* the price is held down by {basis}");
        }

        AnsiConsole.WriteLine(
            $"All rents to own it come to {quote.TotalCost}; that is {Beside(quote.CostOfRental)} the cash price. Tax, plan and accessories are beside it.");
        AnsiConsole.WriteLine("Late fees are not counted: the figures hold when everything is paid on its day.");
        foreach (var violation in quote.Law.Violations) { AnsiConsole.WriteLine($"NOT ALLOWED by {violation.Citation} ({violation.Rule}): {violation.Detail}"); }
        AnsiConsole.WriteLine(quote.Offer.LawPack is { } pack ? $"Held against the law pack {pack}." : "No law pack is loaded for this state and day.");
        foreach (var open in quote.Law.Unchecked) { AnsiConsole.WriteLine($"Not checked: {open}."); }
        AnsiConsole.WriteLine(QuoteJson.Caution);
    }

    private static string Title(Quote quote)
    {
        var unit = quote.Offer.Instrument is { } named ? $"{named.Kind} {named.Serial}" : "an instrument";
        var plan = quote.Offer.WithPlan ? "with the protection plan" : "without a protection plan";
        return $"Quote for {unit}, {Start(quote.Offer)}, {quote.Offer.State}, {plan}.";
    }

    private static string Start(Offer offer) => offer.StartsAtDelivery ? $"starting at delivery, expected on {Iso(offer.StartOn)}" : $"starting {Iso(offer.StartOn)}";

    /// <summary>The ways a family can go, side by side.</summary>
    private static Table Ways(Quote quote)
    {
        var table = AccountPrinter.Plain().AddColumn("way").AddColumn(Figure("you pay in all")).AddColumn("");
        table.AddRow("buy it today", quote.TotalOutright.ToString(), $"cash price {quote.Outright.Price}, tax {quote.Outright.Tax}{Extras(quote)}");
        table.AddRow("rent it to the end", quote.TotalToTerm.ToString(), $"{Payments(quote.Installments.Length)}, yours on {Iso(quote.Months[^1].On)}");
        var months = quote.Months;
        table.AddRow("rent, then buy early", Between(months[..^1].Select(month => month.TotalIfBought), quote.TotalToTerm), "depends on the day: see below");
        table.AddRow("rent, then return it", Between(months[..^1].Select(month => month.CostIfReturned), quote.TotalToTerm), "depends on the day: see below");
        return table;
    }

    private static Table Months(Quote quote)
    {
        var table = AccountPrinter.Plain().AddColumn("due")
            .AddColumns(
                Figure("you\npay"), Figure("paid\nso far"), Figure("counts\nas yours"), Figure("buy it for\n(with tax)"), Figure("bought,\nin all"), Figure("returned,\nin all"));
        var before = Money.Zero;
        foreach (var month in quote.Months)
        {
            var isOwned = month.Basis == Equity.EarlyPurchase.None;
            var mark = isOwned || month.Basis == Equity.EarlyPurchase.ByTerms ? "" : " *";
            table.AddRow(
                Iso(month.On), (month.PaidSoFar - before).ToString(), month.PaidSoFar.ToString(), month.Equity.ToString(),
                isOwned ? "yours" : $"{month.PriceToOwn + month.PriceTax}{mark}",
                month.TotalIfBought.ToString(), isOwned ? "" : month.CostIfReturned.ToString());
            before = month.PaidSoFar;
        }

        return table;
    }

    private static string Extras(Quote quote) => quote.Accessories.Price.IsPositive ? $", accessories with tax {quote.Accessories.Total}" : "";

    private static string Beside(Money more) => more < Money.Zero ? $"{Money.Zero - more} below" : $"{more} above";

    private static string Payments(int count) => count == 1 ? "1 payment" : $"{count} payments";

    private static string Between(IEnumerable<Money> totals, Money otherwise)
    {
        var sorted = totals.DefaultIfEmpty(otherwise).Order().ToArray();
        return sorted[0] == sorted[^1] ? sorted[0].ToString() : $"{sorted[0]} to {sorted[^1]}";
    }

    private static TableColumn Figure(string title) => new TableColumn(title).RightAligned().NoWrap();

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
