using System.Collections.Immutable;
using Contracts.Books.Packet;
using NodaTime;

namespace Contracts.Tests.Support;

/// <summary>An invented month of an invented shop: a trial balance that balances, an ageing with two states, a roll-forward, an empty report.</summary>
internal static class SamplePacket
{
    public static Packet Make() => new(
        "2026-09", Instant.FromUtc(2026, 10, 2, 13, 30), 18_442, "Fernhollow Band & Strings, rental programme",
        [
            new Check("Debits equal credits", true, "153,321.77 on each side"),
            new Check("Receivables agree with the family accounts", true, "18,121.75 in account 1200, 18,121.75 over 412 contracts"),
            new Check("Every instrument on the books is on one contract or in the shop", false, "serial BB-0077 is in neither place"),
        ],
        [TrialBalance(), Ageing(), RollForward(), WriteOffs()]);

    private static Report TrialBalance()
    {
        (string Account, string Name, string Opening, string Debits, string Credits)[] accounts =
        [
            ("1000", "Bank", "0.00", "35061.19", "0.00"),
            ("1010", "Cash and card clearing", "0.00", "48210.55", "48210.55"),
            ("1200", "Receivables from families", "18452.10", "44790.00", "45120.35"),
            ("1500", "Rental instruments at cost", "612340.00", "8420.00", "3150.00"),
            ("1590", "Accumulated depreciation", "-214870.50", "1260.00", "10205.67"),
            ("2100", "Unapplied credit", "-1290.00", "610.00", "845.20"),
            ("2300", "Sales tax payable", "-2874.36", "2874.36", "2991.18"),
            ("3900", "Owner's equity", "-411757.24", "0.00", "0.00"),
            ("4100", "Rental income", "0.00", "0.00", "38954.40"),
            ("4300", "Protection plan income", "0.00", "0.00", "3844.42"),
            ("5100", "Depreciation", "0.00", "10205.67", "0.00"),
            ("5300", "Cost of instruments sold", "0.00", "1890.00", "0.00"),
        ];
        var (opening, debits, credits) = (Money.Zero, Money.Zero, Money.Zero);
        var rows = ImmutableArray.CreateBuilder<Row>();
        foreach (var account in accounts)
        {
            var (first, debit, credit) = (Money.Parse(account.Opening), Money.Parse(account.Debits), Money.Parse(account.Credits));
            rows.Add(new Row(
                RowKind.Line,
                [Cell.Of(account.Account), Cell.Of(account.Name), Cell.Of(first), Cell.Of(debit), Cell.Of(credit), Cell.Of(first + debit - credit)],
                $"contracts postings --account {account.Account} --month 2026-09"));
            (opening, debits, credits) = (opening + first, debits + debit, credits + credit);
        }

        rows.Add(new Row(
            RowKind.Total,
            [Cell.Nothing, Cell.Of("Total"), Cell.Of(opening), Cell.Of(debits), Cell.Of(credits), Cell.Of(opening + debits - credits)],
            "contracts postings --month 2026-09"));
        return new Report(
            "trial-balance", "Trial balance", "Debits are positive, credits are negative in the opening and closing columns.",
            [
                new Column("account", "Account", ColumnKind.Text), new Column("name", "Name", ColumnKind.Text),
                new Column("opening", "Opening", ColumnKind.Money), new Column("debits", "Debits", ColumnKind.Money),
                new Column("credits", "Credits", ColumnKind.Money), new Column("closing", "Closing", ColumnKind.Money),
            ],
            rows.ToImmutable());
    }

    private static Report Ageing()
    {
        var rows = ImmutableArray.CreateBuilder<Row>();
        Line("C-1042", "H-242", new LocalDate(2026, 9, 5), 1, "41.04", "0.00", "0.00", "0.00");
        Line("C-1077", "H-277, with a reference that is long", new LocalDate(2026, 7, 28), 3, "41.04", "41.04", "56.04", "0.00");
        Sum(RowKind.Subtotal, "New York", 4, "82.08", "41.04", "56.04", "0.00");
        Line("C-1103", "Kaleo, \"the twins\"", new LocalDate(2026, 3, 31), 7, "38.00", "38.00", "38.00", "1152.00");
        Sum(RowKind.Subtotal, "Hawaii", 7, "38.00", "38.00", "38.00", "1152.00");
        Sum(RowKind.Total, "All states", 11, "120.08", "79.04", "94.04", "1152.00");
        return new Report(
            "ageing", "Ageing of receivables", "Days are counted from the due date to the last day of the month.",
            [
                new Column("contract", "Contract", ColumnKind.Text), new Column("family", "Family", ColumnKind.Text),
                new Column("oldest", "Oldest due", ColumnKind.Date), new Column("installments", "Open installments", ColumnKind.Count),
                new Column("upTo30", "1 to 30 days", ColumnKind.Money), new Column("upTo60", "31 to 60 days", ColumnKind.Money),
                new Column("upTo90", "61 to 90 days", ColumnKind.Money), new Column("over90", "Over 90 days", ColumnKind.Money),
                new Column("total", "Total past due", ColumnKind.Money),
            ],
            rows.ToImmutable());

        void Line(string contract, string family, LocalDate oldest, int count, params string[] buckets) => rows.Add(new Row(
            RowKind.Line, [Cell.Of(contract), Cell.Of(family), Cell.Of(oldest), Cell.Of((long)count), .. Figures(buckets)],
            $"contracts history {contract} --known 2026-10-02T13:30:00Z"));
        void Sum(RowKind kind, string name, int count, params string[] buckets) => rows.Add(new Row(
            kind, [Cell.Nothing, Cell.Of(name), Cell.Nothing, Cell.Of((long)count), .. Figures(buckets)], null));
        static IEnumerable<Cell> Figures(string[] buckets)
        {
            var amounts = buckets.Select(Money.Parse).ToList();
            return amounts.Append(amounts.Aggregate((left, right) => left + right)).Select(Cell.Of);
        }
    }

    private static Report RollForward()
    {
        return new Report(
            "instruments", "Rental instruments: roll-forward", null,
            [
                new Column("movement", "Movement", ColumnKind.Text), new Column("units", "Units", ColumnKind.Count),
                new Column("cost", "Cost", ColumnKind.Money), new Column("depreciation", "Accumulated depreciation", ColumnKind.Money),
                new Column("net", "Net", ColumnKind.Money),
            ],
            [
                Movement(RowKind.Line, "On 1 September", 1_204, "612340.00", "-214870.50", null),
                Movement(RowKind.Line, "Bought", 14, "8420.00", "0.00", "contracts postings --account 1500 --side debit --month 2026-09"),
                Movement(RowKind.Line, "Sold to families", -6, "-3150.00", "1260.00", "contracts postings --account 1500 --side credit --month 2026-09"),
                Movement(RowKind.Line, "Depreciation of the month", 0, "0.00", "-10205.67", "contracts postings --account 5100 --month 2026-09"),
                Movement(RowKind.Total, "On 30 September", 1_212, "617610.00", "-223816.17", null),
            ]);

        static Row Movement(RowKind kind, string name, long units, string cost, string depreciation, string? evidence) => new(
            kind,
            [Cell.Of(name), Cell.Of(units), Cell.Of(Money.Parse(cost)), Cell.Of(Money.Parse(depreciation)), Cell.Of(Money.Parse(cost) + Money.Parse(depreciation))],
            evidence);
    }

    private static Report WriteOffs() => new(
        "write-offs", "Write-offs", null,
        [new Column("contract", "Contract", ColumnKind.Text), new Column("on", "On", ColumnKind.Date), new Column("amount", "Amount", ColumnKind.Money)], []);
}
