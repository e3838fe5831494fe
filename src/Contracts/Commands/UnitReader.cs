using System.Collections.Frozen;
using System.Collections.Immutable;
using System.Diagnostics;
using Contracts.Instruments;

namespace Contracts.Commands;

/// <summary>Reads what is done to one unit of the fleet (docs/instruments.md).</summary>
internal static class UnitReader
{
    /// <summary>The commands, one blank between two.</summary>
    public const string Names =
        "acquire-unit inspect-unit grade-unit ship-unit deliver-unit send-to-repair finish-repair retire-unit sell-unit report-missing restore-unit";

    private static readonly FrozenSet<string> Known = Names.Split(' ').ToFrozenSet(StringComparer.Ordinal);

    /// <summary>Longer checklists than this are a typing error.</summary>
    private const int MostResults = 200;

    /// <summary>Whether a command is one on a unit.</summary>
    public static bool Reads(string name) => Known.Contains(name);

    /// <summary>The command of a line.</summary>
    public static UnitCommand Body(string name, Fields fields) => name switch
    {
        "acquire-unit" => new UnitCommand.Acquire(
            fields.Text("kind"), fields.OneOf("condition", "new", "used"), fields.Amount("cost"), fields.OptionalText("supplier")),
        "inspect-unit" => new UnitCommand.Inspect(fields.Text("checklist"), Results(fields), fields.Text("inspector"), fields.Flag("passed")),
        "grade-unit" => new UnitCommand.Grade(fields.Text("grade")),
        "ship-unit" => new UnitCommand.Ship(CommandReader.Name(fields, "contract"), fields.Text("carrier"), fields.Text("reference")),
        "deliver-unit" => new UnitCommand.Deliver(),
        "send-to-repair" => new UnitCommand.SendToRepair(fields.Text("description"), fields.OptionalAmount("estimate")),
        "finish-repair" => new UnitCommand.FinishRepair(fields.Amount("cost")),
        "retire-unit" => new UnitCommand.Retire(),
        "sell-unit" => new UnitCommand.Sell(fields.Amount("price")),
        "report-missing" => new UnitCommand.ReportMissing(),
        "restore-unit" => new UnitCommand.Restore(),
        _ => throw new UnreachableException($"The command '{name}' has a name and no fields."),
    };

    private static ImmutableArray<InspectedItem> Results(Fields fields)
    {
        var results = ImmutableArray.CreateBuilder<InspectedItem>();
        foreach (var one in fields.List("results"))
        {
            if (results.Count == MostResults) { throw new Unreadable(Agreements.RefusalCode.FieldInvalid, $"'results' has at most {MostResults} items.", "results"); }
            results.Add(new InspectedItem(one.Text("item"), one.OneOf("result", [.. InspectedItem.Results]), one.OptionalText("note")));
        }

        return results.ToImmutable();
    }
}
