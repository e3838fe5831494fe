using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;

namespace Contracts.WhatIf;

/// <summary>The history of a contract as it would be. Facts are numbered anew, because one may lie between two others; keys say which is which.</summary>
/// <param name="History">The facts, without notes: what terms and dates imply is found again.</param>
/// <param name="Original">The fact that is otherwise or gone, as it is recorded; null where one is added.</param>
/// <param name="Supposed">The same fact as it would be; null where it is gone.</param>
/// <param name="Command">The command it would come from; null where it is gone or where only the law is another.</param>
/// <param name="Questioned">Facts that would be refused or that fall away.</param>
internal sealed record SupposedHistory(
    ContractHistory History, Recorded? Original, Recorded? Supposed, Command.OnContract? Command, ImmutableArray<QuestionedFact> Questioned);
