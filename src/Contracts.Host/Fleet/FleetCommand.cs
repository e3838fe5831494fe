using System.CommandLine;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Instruments;
using NodaTime;
using Spectre.Console;

namespace Contracts.Host.Fleet;

/// <summary>`contracts fleet`: how well the units were used and when they are wanted; what is due back; the checklists.</summary>
public static class FleetCommand
{
    public static System.CommandLine.Command Build()
    {
        var from = CommonOptions.On("--from");
        from.Description = "The first day; a year before the last one when left out.";
        var through = CommonOptions.On("--through");
        through.Description = "The last day; today when left out.";
        var known = CommonOptions.Known();
        var command = new System.CommandLine.Command("fleet", "The fleet by kind: days placed of days owned, and what goes out and comes back by month.")
        {
            from, through, known, BuildDue(), BuildChecklist(),
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var (last, moment) = await session.ViewAsync(parse.GetValue(through), parse.GetValue(known), stop).ConfigureAwait(false);
                var first = parse.GetValue(from) ?? YearBefore(last);
                if (first > last) { throw new UsageException("--from is after --through."); }
                FleetPrinter.Print(await session.Store.Units.ReportAsync(first, last, moment, stop).ConfigureAwait(false), moment, session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>The span of a report that names no first day.</summary>
    internal static LocalDate YearBefore(LocalDate last) => last.PlusDays(1).PlusYears(-1);

    private static System.CommandLine.Command BuildDue()
    {
        var on = CommonOptions.On();
        var known = CommonOptions.Known();
        var remind = new Option<bool>("--remind") { Description = "Only those for which a reminder is due on the day." };
        var command = new System.CommandLine.Command("due", "Swapped units that are not back: until when they may come without a fee.") { on, known, remind };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var (day, moment) = await session.ViewAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false);
                var due = await session.Store.Units.DueBackAsync(day, moment, stop).ConfigureAwait(false);
                FleetPrinter.Print([.. due.Where(one => !parse.GetValue(remind) || one.NeedsReminder)], session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static System.CommandLine.Command BuildChecklist()
    {
        var command = new System.CommandLine.Command("checklist", "The checklists by which units are inspected, item by item.");
        command.SetAction(parse =>
        {
            if (CommonOptions.ParseFormat(parse.GetValue(CommonOptions.Format)) == OutputFormat.Table) { PrintTables(); }
            else { Console.Out.WriteLine(Json()); }
            return ExitCodes.Done;
        });
        return command;
    }

    private static void PrintTables()
    {
        foreach (var list in Checklist.All)
        {
            AnsiConsole.WriteLine($"{list.Name}: {list.Items.Length} items. {list.Source}");
            var table = AccountPrinter.Plain().AddColumns("item", "what to look at");
            foreach (var item in list.Items) { table.AddRow(item.Item, Markup.Escape(item.Says)); }
            AnsiConsole.Write(table);
        }
    }

    private static string Json() => AccountPrinter.Json(json =>
    {
        json.WriteStartArray();
        foreach (var list in Checklist.All)
        {
            json.WriteStartObject();
            json.WriteString("checklist", list.Name);
            json.WriteString("source", list.Source);
            json.WriteStartArray("items");
            foreach (var item in list.Items)
            {
                json.WriteStartObject();
                json.WriteString("item", item.Item);
                json.WriteString("says", item.Says);
                json.WriteEndObject();
            }

            json.WriteEndArray();
            json.WriteEndObject();
        }

        json.WriteEndArray();
    });
}
