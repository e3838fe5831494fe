using System.CommandLine;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Host.Reconstruct;
using Contracts.Host.Running;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Vault;
using NodaTime;
using NodaTime.Text;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Households;

/// <summary>`contracts household`: what is known of a family, who looked at it, and its erasure.</summary>
public static class HouseholdCommand
{
    public static Command Build() => new(
        "household", "A family: its contracts together, and names, addresses and students, kept apart from the history, for a purpose.")
    {
        HouseholdStatementCommand.Build(), Show(), Readings(), Erase(),
    };

    private static Argument<string> Household() => new("household") { Description = "The household's reference, such as H-0417." };

    private static Command Show()
    {
        var household = Household();
        var by = new Option<string>("--by") { Description = "Who reads; kept.", Required = true };
        var purpose = new Option<string>("--purpose") { Description = "Why; kept beside the reader.", Required = true };
        var students = new Option<bool>("--students") { Description = "Show what is kept of students too: mostly minors, so only where it is needed." };
        var known = CommonOptions.Known();
        var command = new Command(
            "show", "Show what is known of a family. Example: contracts household show H-0417 --by ada --purpose \"address for a return label\"")
        {
            household, by, purpose, students, known,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (new[] { by, purpose }.Any(option => string.IsNullOrWhiteSpace(parse.GetValue(option)))) { throw new UsageException("--by and --purpose each need a word."); }
                var name = parse.GetRequiredValue(household);
                var view = await session.ViewAsync(null, parse.GetValue(known), stop).ConfigureAwait(false);
                var found = await session.Store.Households.ReadAsync(
                    name, parse.GetRequiredValue(by), parse.GetRequiredValue(purpose), parse.GetValue(students), view.Known, stop).ConfigureAwait(false);
                if (found is null) { return session.Refuse(new Refusal(RefusalCode.HouseholdUnknown, $"Nothing is kept of {name}, as known then.", "household")); }
                Print(found, session.Format);
                return found.Unreadable > 0 ? ExitCodes.Failed : ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command Readings()
    {
        var household = Household();
        var command = new Command("readings", "List everybody who read a family's data, when and why.") { household };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                foreach (var reading in await session.Store.Households.ReadingsAsync(parse.GetRequiredValue(household), stop).ConfigureAwait(false))
                {
                    Console.Out.WriteLine(session.Format == OutputFormat.Table
                        ? $"{InstantPattern.General.Format(reading.At)}  {reading.By}: {reading.Purpose}{(reading.Students ? " (students too)" : "")}"
                        : AccountPrinter.Json(json => Write(json, reading)));
                }

                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command Erase()
    {
        var household = Household();
        var by = new Option<string>("--by") { Description = "Who erases; kept.", Required = true };
        var reason = new Option<string>("--reason") { Description = "Why; kept. Do not write personal data here.", Required = true };
        var key = new Option<string?>("--key") { Description = "The command's key; give the same one again to finish an erasure that was cut short." };
        var command = new Command(
            "erase", "Destroy for good what is kept of a family. Refused while a contract runs, is on hold or has money open, and while records are to be kept.")
        {
            household, by, reason, key,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var name = parse.GetRequiredValue(household);
                var origin = new CommandOrigin(parse.GetValue(key) ?? $"erase:{name}", parse.GetRequiredValue(by), parse.GetRequiredValue(reason));
                await using var bus = await CommandBus.StartAsync(session.Store, stop).ConfigureAwait(false);
                var erase = new Agreements.Command.EraseHousehold(name) { Origin = origin };
                var results = await bus.ApplyAsync([new CommandRequest(erase, null)], stop).ConfigureAwait(false);
                if (results[0] is CommandResult.Refused refused) { return session.Refuse(refused.Refusal); }
                Console.Out.WriteLine($"{name} is erased; the history and its proofs stay as they are.");
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static void Print(HouseholdView view, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, view)));
            return;
        }

        Console.Out.WriteLine(view.ErasedAt is { } erased
            ? $"{view.Household} was erased {InstantPattern.General.Format(erased)}"
            : $"{view.Household}, told {InstantPattern.General.Format(view.RecordedAt)}");
        foreach (var fact in view.Facts) { Console.Out.WriteLine($"  {fact.Name,-20} {fact.Value}"); }
        if (view.Hidden > 0) { Console.Out.WriteLine($"  {view.Hidden} facts about students are not shown (--students)"); }
        if (view.Unreadable > 0) { Console.Out.WriteLine($"  {view.Unreadable} facts cannot be read: key or vault is damaged"); }
    }

    private static void Write(Utf8JsonWriter json, HouseholdView view)
    {
        json.WriteStartObject();
        json.WriteString("household", view.Household);
        json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(view.RecordedAt));
        if (view.ErasedAt is { } erased) { json.WriteString("erasedAt", InstantPattern.ExtendedIso.Format(erased)); }
        json.WriteStartObject("facts");
        foreach (var fact in view.Facts) { json.WriteString(fact.Name, fact.Value); }
        json.WriteEndObject();
        json.WriteNumber("hidden", view.Hidden);
        json.WriteNumber("unreadable", view.Unreadable);
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, Reading reading)
    {
        json.WriteStartObject();
        json.WriteString("at", InstantPattern.ExtendedIso.Format(reading.At));
        json.WriteString("by", reading.By);
        json.WriteString("purpose", reading.Purpose);
        json.WriteBoolean("students", reading.Students);
        json.WriteEndObject();
    }
}
