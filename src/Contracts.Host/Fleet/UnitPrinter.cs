using System.Text.Json;
using Contracts.Fleet;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Instruments;
using Contracts.Store;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;
using static Contracts.Host.Fleet.UnitWords;

namespace Contracts.Host.Fleet;

/// <summary>One unit, printed: as JSON for programs, as tables for people, its contracts as CSV for sheets.</summary>
internal static class UnitPrinter
{
    public static void Print(UnitLife life, Instant known, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table: PrintTable(life); break;
            case OutputFormat.Csv: PrintCsv(life); break;
            default: Console.Out.WriteLine(Json(life, known)); break;
        }
    }

    /// <summary>The unit as JSON, in the shape of docs/instruments.md.</summary>
    public static string Json(UnitLife life, Instant known) => AccountPrinter.Json(json =>
    {
        var state = life.State;
        json.WriteStartObject();
        json.WriteString("serial", state.Serial);
        json.WriteString("kind", state.Kind);
        json.WriteString("on", Iso(life.On));
        json.WriteString("known", InstantPattern.ExtendedIso.Format(known));
        json.WriteString("status", state.StatusWord);
        json.WriteBoolean("kept", state.IsKept);
        Text(json, "contract", life.Holder);
        Text(json, "inStoreSince", state.InStoreSince is { } since && life.Holder is null ? Iso(since) : null);
        Text(json, "grade", state.Grade);
        WriteInspection(json, state.LastInspection);
        WriteShipment(json, state);
        json.WriteStartObject("earned");
        json.WriteString("rent", life.Rent.ToString());
        json.WriteString("sale", life.Sale.ToString());
        json.WriteString("notReturned", life.NotReturned.ToString());
        json.WriteString("total", life.Earned.ToString());
        json.WriteEndObject();
        Text(json, "cost", state.Cost?.ToString());
        json.WriteString("repair", life.Repair.ToString());
        json.WriteString("net", life.Net.ToString());
        json.WriteStartArray("uses");
        foreach (var use in life.Uses) { Write(json, use); }
        json.WriteEndArray();
        json.WriteStartArray("events");
        foreach (var fact in life.Facts) { Write(json, fact); }
        json.WriteEndArray();
        json.WriteEndObject();
    });

    private static void WriteInspection(Utf8JsonWriter json, UnitEvent.Inspected? inspection)
    {
        if (inspection is null)
        {
            json.WriteNull("inspection");
            return;
        }

        json.WriteStartObject("inspection");
        json.WriteString("on", Iso(inspection.On));
        json.WriteString("checklist", inspection.Checklist);
        json.WriteString("inspector", inspection.Inspector);
        json.WriteBoolean("passed", inspection.Passed);
        json.WriteEndObject();
    }

    private static void WriteShipment(Utf8JsonWriter json, UnitState state)
    {
        if (state.Shipment is not { } shipment)
        {
            json.WriteNull("shipment");
            return;
        }

        json.WriteStartObject("shipment");
        json.WriteString("on", Iso(shipment.On));
        json.WriteString("contract", shipment.Contract);
        json.WriteString("carrier", shipment.Carrier);
        json.WriteString("reference", shipment.Reference);
        Text(json, "deliveredOn", state.DeliveredOn is { } day ? Iso(day) : null);
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, UnitUse use)
    {
        json.WriteStartObject();
        json.WriteString("contract", use.Contract);
        json.WriteString("from", Iso(use.From));
        Text(json, "until", use.Until is { } until ? Iso(until) : null);
        json.WriteString("end", End(use));
        Text(json, "backOn", use.BackOn is { } back ? Iso(back) : null);
        json.WriteString("rent", use.Rent.ToString());
        json.WriteString("sale", use.Sale.ToString());
        json.WriteString("notReturned", use.NotReturned.ToString());
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, UnitRecorded fact)
    {
        json.WriteStartObject();
        json.WriteNumber("sequence", fact.Sequence);
        json.WriteString("on", Iso(fact.Event.On));
        json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(fact.At));
        json.WriteString("event", EventNames.Of(fact.Event.GetType()));
        json.WriteString("says", Say(fact.Event));
        Optional(json, "money", Effect(fact.Event)?.ToString());
        Optional(json, "by", fact.Actor);
        Optional(json, "reason", fact.Reason);
        json.WriteString("key", fact.Key);
        json.WriteEndObject();
    }

    private static void PrintTable(UnitLife life)
    {
        var state = life.State;
        AnsiConsole.WriteLine($"{state.Serial}, {state.Kind}: {state.StatusWord} on {Iso(life.On)}{(life.Holder is { } holder ? $", contract {holder}" : "")}");
        if (!state.IsKept) { AnsiConsole.WriteLine("Never acquired as a unit: what is known of it is what contracts say."); }
        if (state.LastInspection is { } look)
        {
            var still = state.IsInspected ? "" : ", and to be inspected again";
            AnsiConsole.WriteLine($"Inspected on {Iso(look.On)} by {look.Inspector}: {(look.Passed ? "passed" : "not passed")}{still}");
        }

        if (state.Shipment is { } shipped)
        {
            var arrived = state.DeliveredOn is { } at ? $"; delivered on {Iso(at)}" : "";
            AnsiConsole.WriteLine($"Shipped on {Iso(shipped.On)} with {shipped.Carrier}, {shipped.Reference}{arrived}");
        }

        var uses = AccountPrinter.Plain().AddColumns("contract", "from", "until", "how", "back on")
            .AddColumn(new TableColumn("rent").RightAligned()).AddColumn(new TableColumn("sale").RightAligned()).AddColumn(new TableColumn("not returned").RightAligned());
        foreach (var use in life.Uses)
        {
            uses.AddRow(use.Contract, Iso(use.From), Iso(use.Until), End(use), Iso(use.BackOn), use.Rent.ToString(), use.Sale.ToString(), use.NotReturned.ToString());
        }

        AnsiConsole.Write(uses);
        var money = AccountPrinter.Plain().AddColumn("over its life").AddColumn(new TableColumn("amount").RightAligned());
        money.AddRow("rent", life.Rent.ToString()).AddRow("sale", life.Sale.ToString()).AddRow("not returned", life.NotReturned.ToString())
            .AddRow("cost", state.Cost is { } cost ? (Money.Zero - cost).ToString() : "not known")
            .AddRow("repairs", (Money.Zero - life.Repair).ToString()).AddRow("left", life.Net.ToString());
        AnsiConsole.Write(money);
        var facts = AccountPrinter.Plain().AddColumns("on", "recorded (UTC)", "event").AddColumn(new TableColumn("money").RightAligned()).AddColumns("by", "reason");
        foreach (var fact in life.Facts)
        {
            facts.AddRow(
                Iso(fact.Event.On), fact.At.ToString("uuuu-MM-dd HH:mm", null), Markup.Escape(Say(fact.Event)), Effect(fact.Event)?.ToString() ?? "",
                Markup.Escape(fact.Actor ?? ""), Markup.Escape(fact.Reason ?? ""));
        }

        if (!life.Facts.IsEmpty) { AnsiConsole.Write(facts); }
    }

    private static void PrintCsv(UnitLife life)
    {
        Console.Out.WriteLine("serial,kind,contract,from,until,end,backOn,rent,sale,notReturned");
        foreach (var use in life.Uses)
        {
            Console.Out.WriteLine(string.Join(
                ',', AccountCsv.Cell(use.Serial), AccountCsv.Cell(use.Kind), use.Contract, Iso(use.From), Iso(use.Until), End(use), Iso(use.BackOn),
                use.Rent, use.Sale, use.NotReturned));
        }
    }

    private static void Text(Utf8JsonWriter json, string name, string? value)
    {
        if (value is null) { json.WriteNull(name); }
        else { json.WriteString(name, value); }
    }

    private static void Optional(Utf8JsonWriter json, string name, string? value)
    {
        if (value is not null) { json.WriteString(name, value); }
    }
}
