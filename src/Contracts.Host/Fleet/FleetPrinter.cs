using System.Globalization;
using System.Text.Json;
using Contracts.Fleet;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;
using static Contracts.Host.Fleet.UnitWords;

namespace Contracts.Host.Fleet;

/// <summary>The fleet and what is due back, printed.</summary>
internal static class FleetPrinter
{
    public static void Print(FleetReport report, Instant known, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table: PrintTable(report); break;
            case OutputFormat.Csv: PrintCsv(report); break;
            default: Console.Out.WriteLine(Json(report, known)); break;
        }
    }

    /// <summary>The report as JSON, in the shape of docs/instruments.md.</summary>
    public static string Json(FleetReport report, Instant known) => AccountPrinter.Json(json =>
    {
        json.WriteStartObject();
        json.WriteString("from", Iso(report.From));
        json.WriteString("through", Iso(report.Through));
        json.WriteString("known", InstantPattern.ExtendedIso.Format(known));
        json.WriteStartArray("kinds");
        foreach (var kind in report.Kinds)
        {
            json.WriteStartObject();
            json.WriteString("kind", kind.Kind);
            json.WriteNumber("units", kind.Units);
            json.WriteNumber("acquired", kind.Acquired);
            json.WriteNumber("daysOwned", kind.DaysOwned);
            json.WriteNumber("daysPlaced", kind.DaysPlaced);
            json.WriteString("utilisation", Share(kind));
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteStartArray("months");
        foreach (var month in report.Months)
        {
            json.WriteStartObject();
            json.WriteString("month", YearMonthPattern.Iso.Format(month.Month));
            json.WriteString("kind", month.Kind);
            json.WriteNumber("wentOut", month.WentOut);
            json.WriteNumber("cameBack", month.CameBack);
            json.WriteNumber("owned", month.Owned);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    });

    /// <summary>A share with four decimals, such as 0.8125.</summary>
    public static string Share(KindUse kind) => string.Create(CultureInfo.InvariantCulture, $"{kind.Utilisation / 10_000}.{kind.Utilisation % 10_000:0000}");

    public static void Print(IReadOnlyList<DueBack> due, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table: PrintTable(due); break;
            case OutputFormat.Csv: PrintCsv(due); break;
            case OutputFormat.Json: Console.Out.WriteLine(Json(due)); break;
            default:
                foreach (var one in due) { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, one))); }
                break;
        }
    }

    /// <summary>What is due back as one JSON list.</summary>
    public static string Json(IReadOnlyList<DueBack> due) => AccountPrinter.Json(json =>
    {
        json.WriteStartArray();
        foreach (var one in due) { Write(json, one); }
        json.WriteEndArray();
    });

    /// <summary>How it stands, in a few words.</summary>
    public static string Standing(DueBack one) => (one.IsCharged, one.NeedsReminder) switch
    {
        (true, _) => "charged",
        (_, true) => "remind now",
        _ => $"remind from {Iso(one.RemindFrom)}",
    };

    private static void Write(Utf8JsonWriter json, DueBack one)
    {
        json.WriteStartObject();
        json.WriteString("contract", one.Contract);
        json.WriteString("swap", one.Swap);
        json.WriteString("serial", one.Serial);
        json.WriteString("swappedOn", Iso(one.SwappedOn));
        json.WriteString("returnBy", Iso(one.ReturnBy));
        json.WriteString("fee", one.Fee.ToString());
        json.WriteString("label", one.Label);
        json.WriteString("labelOn", one.LabelOn is { } day ? Iso(day) : null);
        json.WriteBoolean("charged", one.IsCharged);
        json.WriteString("remindFrom", Iso(one.RemindFrom));
        json.WriteBoolean("needsReminder", one.NeedsReminder);
        json.WriteEndObject();
    }

    private static void PrintTable(FleetReport report)
    {
        AnsiConsole.WriteLine($"The fleet from {Iso(report.From)} through {Iso(report.Through)}");
        var kinds = AccountPrinter.Plain().AddColumn("kind");
        foreach (var heading in new[] { "units", "of them acquired", "days owned", "days placed", "placed of owned" }) { kinds.AddColumn(new TableColumn(heading).RightAligned()); }
        foreach (var kind in report.Kinds)
        {
            kinds.AddRow(Markup.Escape(kind.Kind), Text(kind.Units), Text(kind.Acquired), Text(kind.DaysOwned), Text(kind.DaysPlaced), Share(kind));
        }

        AnsiConsole.Write(kinds);
        var months = AccountPrinter.Plain().AddColumns("month", "kind");
        foreach (var heading in new[] { "went out", "came back", "became a family's" }) { months.AddColumn(new TableColumn(heading).RightAligned()); }
        foreach (var month in report.Months)
        {
            months.AddRow(YearMonthPattern.Iso.Format(month.Month), Markup.Escape(month.Kind), Text(month.WentOut), Text(month.CameBack), Text(month.Owned));
        }

        AnsiConsole.Write(months);
    }

    private static void PrintCsv(FleetReport report)
    {
        Console.Out.WriteLine("month,kind,wentOut,cameBack,owned,units,acquired,daysOwned,daysPlaced,utilisation");
        foreach (var kind in report.Kinds)
        {
            Console.Out.WriteLine(string.Join(
                ',', "all", AccountCsv.Cell(kind.Kind), "", "", "", Text(kind.Units), Text(kind.Acquired), Text(kind.DaysOwned), Text(kind.DaysPlaced), Share(kind)));
        }

        foreach (var month in report.Months)
        {
            Console.Out.WriteLine(string.Join(
                ',', YearMonthPattern.Iso.Format(month.Month), AccountCsv.Cell(month.Kind), Text(month.WentOut), Text(month.CameBack), Text(month.Owned), "", "", "", "", ""));
        }
    }

    private static void PrintTable(IReadOnlyList<DueBack> due)
    {
        var table = AccountPrinter.Plain().AddColumns("contract", "unit", "swapped", "due back by")
            .AddColumn(new TableColumn("else charged").RightAligned()).AddColumns("label", "now");
        foreach (var one in due)
        {
            table.AddRow(one.Contract, Markup.Escape(one.Serial), Iso(one.SwappedOn), Iso(one.ReturnBy), one.Fee.ToString(), Markup.Escape(one.Label ?? "none"), Standing(one));
        }

        AnsiConsole.Write(table);
    }

    private static void PrintCsv(IReadOnlyList<DueBack> due)
    {
        Console.Out.WriteLine("contract,swap,serial,swappedOn,returnBy,fee,label,labelOn,charged,remindFrom,needsReminder");
        foreach (var one in due)
        {
            Console.Out.WriteLine(string.Join(
                ',', one.Contract, AccountCsv.Cell(one.Swap), AccountCsv.Cell(one.Serial), Iso(one.SwappedOn), Iso(one.ReturnBy), one.Fee, AccountCsv.Cell(one.Label ?? ""),
                Iso(one.LabelOn), one.IsCharged ? "true" : "false", Iso(one.RemindFrom), one.NeedsReminder ? "true" : "false"));
        }
    }

    private static string Text(long number) => number.ToString(CultureInfo.InvariantCulture);
}
