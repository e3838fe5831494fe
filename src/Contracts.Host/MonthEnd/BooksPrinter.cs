using System.Collections.Immutable;
using System.Text.Json;
using Contracts.Books;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.MonthEnd;

/// <summary>Prints a trial balance.</summary>
internal static class BooksPrinter
{
    public static void Print(TrialBalance balance, LocalDate through, Instant known, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Csv: PrintCsv(balance); break;
            case OutputFormat.Table: PrintTable(balance, through, known); break;
            default: Console.Out.WriteLine(Json(balance, through, known)); break;
        }
    }

    /// <summary>The trial balance as JSON.</summary>
    public static string Json(TrialBalance balance, LocalDate through, Instant known) => AccountPrinter.Json(json => Write(json, balance, through, known));

    private static void Write(Utf8JsonWriter json, TrialBalance balance, LocalDate through, Instant known)
    {
        json.WriteStartObject();
        json.WriteString("through", LocalDatePattern.Iso.Format(through));
        json.WriteString("known", InstantPattern.ExtendedIso.Format(known));
        Write(json, "accounts", balance.Accounts, withCommodity: false);
        json.WriteString("totalDebit", balance.TotalDebit.ToString());
        json.WriteString("totalCredit", balance.TotalCredit.ToString());
        Write(json, "memo", balance.Memo, withCommodity: true);
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, string name, ImmutableArray<TrialBalanceLine> lines, bool withCommodity)
    {
        json.WriteStartArray(name);
        foreach (var line in lines)
        {
            json.WriteStartObject();
            json.WriteString("account", line.Name);
            json.WriteString("debit", line.Debit.ToString());
            json.WriteString("credit", line.Credit.ToString());
            json.WriteString("balance", line.Balance.ToString());
            if (withCommodity) { json.WriteString("commodity", line.Commodity); }
            json.WriteEndObject();
        }

        json.WriteEndArray();
    }

    private static void PrintCsv(TrialBalance balance)
    {
        Console.Out.WriteLine("account,debit,credit,balance,commodity");
        foreach (var line in balance.Accounts.Concat(balance.Memo))
        {
            Console.Out.WriteLine($"{line.Name},{line.Debit},{line.Credit},{line.Balance},{line.Commodity}");
        }
    }

    private static void PrintTable(TrialBalance balance, LocalDate through, Instant known)
    {
        AnsiConsole.WriteLine($"Trial balance through {LocalDatePattern.Iso.Format(through)}, as known at {InstantPattern.ExtendedIso.Format(known)}, in US dollars");
        var table = AccountPrinter.Plain().AddColumn("account")
            .AddColumn(new TableColumn("debit").RightAligned()).AddColumn(new TableColumn("credit").RightAligned());
        foreach (var line in balance.Accounts) { table.AddRow(new Text(line.Name), new Text(Side(line.Debit)), new Text(Side(line.Credit))); }
        table.AddRow("total", balance.TotalDebit.ToString(), balance.TotalCredit.ToString());
        AnsiConsole.Write(table);
        if (balance.Memo.IsEmpty) { return; }
        AnsiConsole.WriteLine("Memo, outside the balance sheet");
        var memo = AccountPrinter.Plain().AddColumn("account").AddColumn("in")
            .AddColumn(new TableColumn("debit").RightAligned()).AddColumn(new TableColumn("credit").RightAligned());
        foreach (var line in balance.Memo) { memo.AddRow(new Text(line.Name), new Text(line.Commodity), new Text(Side(line.Debit)), new Text(Side(line.Credit))); }
        AnsiConsole.Write(memo);
    }

    private static string Side(Money amount) => amount.IsPositive ? amount.ToString() : "";
}
