using System.Text;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Commands;
using NodaTime;

namespace Contracts.WhatIf;

/// <summary>
/// Reads what is supposed: one JSON object with exactly one of <c>add</c>, <c>remove</c>, <c>change</c>, <c>redate</c> and <c>law</c>
/// (docs/what-if.md). Refused in the command reader's words.
/// </summary>
public static class WhatIfReader
{
    private const string NoKey = "what-if";
    private static readonly string[] Kinds = ["add", "remove", "change", "redate", "law"];

    /// <summary>Reads the object; exactly one of the two answers is given.</summary>
    /// <param name="text">The object.</param>
    /// <param name="contract">The contract it is about; a command in it may leave that out.</param>
    public static (WhatIfChange? Change, Refusal? Refusal) Read(ReadOnlyMemory<byte> text, string contract)
    {
        if (text.Span.StartsWith("\uFEFF"u8)) { text = text[3..]; }
        return CommandReader.Reading(text, root => Read(root, contract));
    }

    private static WhatIfChange Read(JsonElement root, string contract)
    {
        var fields = new Fields(root, "");
        var given = Kinds.Where(kind => root.TryGetProperty(kind, out _)).ToList();
        if (given is not [var asked])
        {
            throw new Unreadable(RefusalCode.FieldMissing, $"What is supposed is exactly one of {string.Join(", ", Kinds)}.", given.Count == 0 ? Kinds[0] : given[1]);
        }

        return asked switch
        {
            "add" => Added(fields.ObjectText("add"), contract),
            "remove" => new WhatIfChange.Removed(fields.Text("remove")),
            "change" => new WhatIfChange.Changed(fields.Text("change"), fields.ObjectText("with")),
            "redate" => new WhatIfChange.Changed(fields.Text("redate"), WithDay(fields.Date("on"))),
            _ => new WhatIfChange.UnderLaw(fields.Text("law")),
        };
    }

    /// <summary>The fields that are otherwise where only the day is.</summary>
    public static string WithDay(LocalDate on) => $$"""{"on":"{{NodaTime.Text.LocalDatePattern.Iso.Format(on)}}"}""";

    private static WhatIfChange.Added Added(string line, string contract)
    {
        var (read, refusal) = CommandReader.Read(WithContract(line, contract), NoKey);
        if (read is null) { throw new Unreadable(refusal!.Code, refusal.Detail, refusal.Field is { } field ? $"add.{field}" : "add", refusal.RightFigure); }
        if (read.Command is not Command.OnContract command) { throw new Unreadable(RefusalCode.FieldInvalid, $"'{read.Name}' is not done on a contract.", "add.do"); }
        return command.Contract == contract
            ? new WhatIfChange.Added(command, read.At)
            : throw new Unreadable(RefusalCode.FieldInvalid, $"It is asked about contract {contract}.", "add.contract", contract);
    }

    private static byte[] WithContract(string line, string contract)
    {
        try
        {
            var text = System.Text.Json.Nodes.JsonNode.Parse(line)!.AsObject();
            if (!text.ContainsKey("contract")) { text["contract"] = contract; }
            return Encoding.UTF8.GetBytes(text.ToJsonString());
        }
        // A name twice, or half a character.
        catch (Exception fault) when (fault is ArgumentException or InvalidOperationException)
        {
            throw new Unreadable(RefusalCode.MalformedLine, "A command is a JSON object that names each field once.", "add");
        }
    }
}
