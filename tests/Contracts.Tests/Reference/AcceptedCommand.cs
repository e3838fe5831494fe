using System.Text.Json.Nodes;
using NodaTime;

namespace Contracts.Tests.Reference;

/// <summary>One accepted command: its JSON as it was written in the command file, when it was recorded, and its store sequence.</summary>
public sealed record AcceptedCommand(JsonObject Command, Instant RecordedAt, long Sequence);
