using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.History;

namespace Contracts.WhatIf;

/// <summary>A fact's command with some of its fields otherwise.</summary>
internal static class FactOverlay
{
    private static readonly string[] Fixed = ["do", "key", "contract", "at", "by"];

    /// <summary>The command as it would have been given; exactly one of the answers is given.</summary>
    /// <param name="contract">The contract.</param>
    /// <param name="fact">The fact as it is recorded.</param>
    /// <param name="with">A JSON object with the fields that are otherwise; null takes a field away.</param>
    public static (Command.OnContract? Command, Refusal? Refusal) Of(string contract, Recorded fact, string with)
    {
        var line = CommandWriter.Line(Original(contract, fact));
        byte[] text;
        try
        {
            if (JsonNode.Parse(with) is not JsonObject fields) { return (null, Wrong("the fields that are otherwise are a JSON object")); }
            if (Fixed.FirstOrDefault(fields.ContainsKey) is { } name) { return (null, Wrong($"'{name}' of a recorded fact stays as it is")); }
            Merge(line, fields);
            text = Encoding.UTF8.GetBytes(line.ToJsonString());
        }
        // A name twice, or half a character.
        catch (Exception fault) when (fault is JsonException or ArgumentException or InvalidOperationException)
        {
            return (null, Wrong("the fields that are otherwise are a JSON object that names each field once"));
        }

        var (read, refusal) = CommandReader.Read(text);
        return read is null ? (null, refusal! with { Field = refusal.Field is { } field ? $"with.{field}" : "with" }) : ((Command.OnContract)read.Command, null);
    }

    /// <summary>The command that brought a fact, with the reason it gave.</summary>
    public static Command.OnContract Original(string contract, Recorded fact) =>
        new(contract, fact.Event.On, FactCommands.Of(fact.Event)) { Origin = new CommandOrigin(fact.Key, fact.Actor, fact.Reason) };

    /// <summary>Objects are merged field by field, so that of the terms only what is otherwise need be named; lists are replaced.</summary>
    private static void Merge(JsonObject into, JsonObject fields)
    {
        foreach (var (name, value) in fields)
        {
            if (value is null) { into.Remove(name); }
            else if (value is JsonObject inner && into[name] is JsonObject outer) { Merge(outer, inner); }
            else { into[name] = value.DeepClone(); }
        }
    }

    private static Refusal Wrong(string why) => new(RefusalCode.FieldInvalid, $"'with': {why}.", "with");
}
