using System.Runtime.CompilerServices;
using System.Text;
using System.Text.Json.Serialization.Metadata;
using Contracts.Store;
using Contracts.Store.Json;
using Xunit;

namespace Contracts.Host.Tests.Storing;

/// <summary>
/// The shape of every stored event is frozen: names and types of its fields, and of what is in them, are held in
/// fixtures/event-shapes.txt. A field that is gone, renamed, of another type or newly required would leave events unread that
/// lie in stores already; a field that is new and may be missing is a new version with a file of its own.
/// </summary>
public sealed class EventShapeTests
{
    private const string WhatToDo =
        "The shape of a stored event has changed. Stored events are never written again, so: never rename or remove a field, never change its type, never make one required. "
        + "What is new is a field that may be missing: give it a default, add a sample to `Later` in FrozenEventTests with the next version number, and freeze both with "
        + "CONTRACTS_FREEZE=1 (docs/replay.md, \"Old events\"). What cannot be said so is an event of another name.";

    [Fact]
    public void No_stored_event_has_another_shape_than_the_frozen_one()
    {
        var now = EventNames.All.ToDictionary(pair => pair.Name, pair => ShapeOf(pair.Type), StringComparer.Ordinal);
        var text = string.Concat(now.OrderBy(pair => pair.Key, StringComparer.Ordinal).Select(pair => $"{pair.Key}\n{pair.Value}"));
        var path = Path.Combine(Folder(), "..", "event-shapes.txt");
        if (Environment.GetEnvironmentVariable("CONTRACTS_FREEZE") == "1") { File.WriteAllText(path, text); }
        var frozen = File.ReadAllText(path);
        Assert.True(frozen == text, $"{WhatToDo}\n{FirstOtherLine(frozen, text)}");
    }

    [Fact]
    public void Every_new_field_of_an_event_has_a_frozen_file_with_it_filled()
    {
        foreach (var (name, type) in EventNames.All)
        {
            var files = Directory.GetFiles(Folder(), $"{name}.*.json").Select(File.ReadAllText).ToList();
            Assert.NotEmpty(files);
            foreach (var field in Info(type).Properties.Where(field => field.Set is not null || field.AssociatedParameter is not null))
            {
                Assert.True(files.Exists(text => text.Contains($"\"{field.Name}\":", StringComparison.Ordinal)), $"{name}: no frozen file has '{field.Name}'. {WhatToDo}");
            }
        }
    }

    private static string FirstOtherLine(string frozen, string now)
    {
        var (was, here) = (frozen.Split('\n'), now.Split('\n'));
        for (var index = 0; index < Math.Max(was.Length, here.Length); index++)
        {
            var (then, line) = (was.ElementAtOrDefault(index), here.ElementAtOrDefault(index));
            if (then != line) { return $"line {index + 1}: frozen '{then}', now '{line}'"; }
        }

        return "";
    }

    /// <summary>A line for each field, what is inside it further in.</summary>
    private static string ShapeOf(Type type)
    {
        var text = new StringBuilder();
        Write(type, "  ", text, []);
        return text.ToString();
    }

    private static void Write(Type type, string margin, StringBuilder text, HashSet<Type> above)
    {
        foreach (var field in Info(type).Properties.Where(field => field.Set is not null || field.AssociatedParameter is not null).OrderBy(field => field.Name, StringComparer.Ordinal))
        {
            var inside = Nullable.GetUnderlyingType(field.PropertyType) ?? field.PropertyType;
            var isList = inside.IsGenericType && inside.GetGenericArguments().Length == 1 && inside != typeof(string);
            if (isList) { inside = inside.GetGenericArguments()[0]; }
            text.Append(margin).Append(field.Name).Append(": ").Append(isList ? "list of " : "").Append(inside.Name)
                .Append(field.IsRequired ? " required" : "").Append('\n');
            if (Info(inside).Kind == JsonTypeInfoKind.Object && above.Add(inside))
            {
                Write(inside, margin + "  ", text, above);
                above.Remove(inside);
            }
        }
    }

    private static JsonTypeInfo Info(Type type) => EventJsonContext.Default.GetTypeInfo(type)
        ?? throw new InvalidOperationException($"{type.Name} has no stored shape.");

    private static string Folder([CallerFilePath] string here = "") =>
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(here)!, "..", "..", "..", "fixtures", "events"));
}
