using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using Contracts.Disclosures;
using Contracts.Host.Terminal;
using Spectre.Console;

namespace Contracts.Host.Reconstruct;

/// <summary>Prints an account or the portfolio: as JSON for programs, as a table for people, as CSV for sheets.</summary>
public static class AccountPrinter
{
    public static void Print(Account account, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Csv:
                Console.Out.WriteLine(AccountCsv.Header);
                Console.Out.WriteLine(AccountCsv.Row(account));
                break;
            case OutputFormat.Table: PrintTable(account); break;
            default: Console.Out.WriteLine(Json(json => AccountJson.Write(json, account))); break;
        }
    }

    public static void Print(Portfolio portfolio, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Csv:
                Console.Out.WriteLine("figure,sum");
                foreach (var (path, sum) in portfolio.Sums) { Console.Out.WriteLine($"{path},{sum}"); }
                break;
            case OutputFormat.Table: PrintTable(portfolio); break;
            default: Console.Out.WriteLine(Json(json => AccountJson.Write(json, portfolio))); break;
        }
    }

    /// <summary>A section sign or an apostrophe is printed as it is: this JSON is not put into web pages.</summary>
    public static readonly JsonWriterOptions Plainly = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    public static string Json(Action<Utf8JsonWriter> write)
    {
        using var buffer = new MemoryStream();
        using (var json = new Utf8JsonWriter(buffer, Plainly)) { write(json); }
        return Encoding.UTF8.GetString(buffer.ToArray());
    }

    private static void PrintTable(Account account)
    {
        var table = Plain().AddColumn("figure").AddColumn(new TableColumn("amount").RightAligned()).AddColumn("");
        AnsiConsole.WriteLine($"{account.Contract}, {account.Kind} {account.Serial}: {account.Status} on {account.On:uuuu-MM-dd}");
        Row(table, "equity", account.Equity, account.CarriedEquity > Money.Zero ? $"{account.CarriedEquity} carried at the last exchange" : "");
        Row(table, "remaining to own", account.RemainingToOwn, "");
        Row(table, "past due", account.PastDue, string.Join(", ", account.OpenItems.Select(item => $"{item.Id} {item.Part} {item.Open}")));
        Row(table, "unapplied credit", account.UnappliedCredit, "");
        Row(table, "goodwill credit", account.GoodwillCredit, "");
        Row(table, "merchandise credit", account.MerchandiseCredit, "");
        Row(table, "early purchase price", account.EarlyPurchase.Price, $"by {account.EarlyPurchase.Basis}");
        Row(table, "payoff", account.EarlyPurchase.Payoff, $"with tax {account.EarlyPurchase.Tax}");
        Row(table, "paid", account.Paid.Total, PaidWords(account.Paid));
        Row(table, "remaining by schedule", account.RemainingBySchedule, InstallmentWords(account.Installments));
        Row(table, "total cost", account.TotalCost, $"cost of rental services {account.CostOfRental}");
        Row(table, "next due", account.NextDue?.Amount ?? Money.Zero, account.NextDue is { } next ? $"on {next.On:uuuu-MM-dd}" : "nothing");
        AnsiConsole.Write(table);
        if (account.TakenOver is { } mark) { AnsiConsole.WriteLine($"This contract was {mark.Words}."); }
        AnsiConsole.WriteLine("Rent-to-own disclosure rules vary by state; ask local counsel.");
    }

    private static string PaidWords(PaidFigures paid) =>
        $"rent {paid.Rent}, plan {paid.Plan}, tax {paid.Tax}, fees {paid.Fees}, accessories {paid.Accessories}, purchase {paid.Purchase}";

    private static string InstallmentWords(InstallmentCounts counts) =>
        $"{counts.Paid} of {counts.Due} due installments paid, {counts.Remaining} still to come";

    private static void PrintTable(Portfolio portfolio)
    {
        var table = Plain().AddColumn("figure").AddColumn(new TableColumn("sum").RightAligned());
        var statuses = string.Join(", ", portfolio.Statuses.Select(status => $"{status.Value} {status.Key}"));
        AnsiConsole.WriteLine($"{portfolio.Accounts} accounts on {portfolio.On:uuuu-MM-dd}{(statuses.Length > 0 ? ": " : "")}{statuses}");
        foreach (var (path, sum) in portfolio.Sums) { table.AddRow(path, sum.ToString()); }
        AnsiConsole.Write(table);
    }

    private static void Row(Table table, string figure, Money amount, string remark) =>
        table.AddRow(Markup.Escape(figure), amount.ToString(), Markup.Escape(remark));

    internal static Table Plain() => new() { Border = TableBorder.Minimal };
}
