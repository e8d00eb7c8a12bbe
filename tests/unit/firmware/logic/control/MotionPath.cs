// Floating point in the motion path: everything that Controller.Update can reach inside the firmware's logic and
// shared-math. The board is outside: a PWM channel's duty is a double by its public signature.

using Mono.Cecil;
using Mono.Cecil.Cil;

namespace Hourhinge.Tests.Firmware.Logic.Control;

/// <summary>Walks the calls from one method, through overrides and interfaces too.</summary>
public sealed class MotionPath
{
    private static readonly HashSet<Code> _floatCodes =
    [
        Code.Ldc_R4, Code.Ldc_R8, Code.Conv_R4, Code.Conv_R8, Code.Conv_R_Un, Code.Ldelem_R4, Code.Ldelem_R8,
        Code.Stelem_R4, Code.Stelem_R8, Code.Ldind_R4, Code.Ldind_R8, Code.Stind_R4, Code.Stind_R8, Code.Ckfinite,
    ];

    private readonly Dictionary<string, TypeDefinition> _types;
    private readonly HashSet<string> _seen = new(StringComparer.Ordinal);
    private readonly Queue<MethodDefinition> _todo = new();
    private readonly SortedSet<string> _refusals = new(StringComparer.Ordinal);

    private MotionPath(IEnumerable<ModuleDefinition> modules) =>
        _types = modules.SelectMany(m => m.GetTypes()).DistinctBy(t => t.FullName).ToDictionary(t => t.FullName);

    /// <summary>Floating point reachable from a method; and how many methods that was.</summary>
    public static (IReadOnlyCollection<string> Refusals, int Methods) FromMethod(
        IEnumerable<ModuleDefinition> modules, string type, string method)
    {
        MotionPath path = new(modules);
        path.Enter(path._types[type].Methods.Single(m => m.Name == method));
        while (path._todo.TryDequeue(out MethodDefinition? next))
        {
            path.Visit(next);
        }

        return (path._refusals, path._seen.Count);
    }

    private void Enter(MethodDefinition method)
    {
        if (_seen.Add(method.FullName))
        {
            _todo.Enqueue(method);
        }
    }

    private void Visit(MethodDefinition method)
    {
        Check(method.ReturnType, method);
        foreach (ParameterDefinition parameter in method.Parameters)
        {
            Check(parameter.ParameterType, method);
        }

        foreach (MethodDefinition other in Overrides(method))
        {
            Enter(other);
        }

        if (!method.HasBody)
        {
            return;
        }

        foreach (VariableDefinition local in method.Body.Variables)
        {
            Check(local.VariableType, method);
        }

        foreach (Instruction instruction in method.Body.Instructions)
        {
            if (_floatCodes.Contains(instruction.OpCode.Code))
            {
                Refuse(instruction.OpCode.Name, method);
            }

            Follow(instruction.Operand, method);
        }
    }

    private void Follow(object? operand, MethodDefinition from)
    {
        if (operand is FieldReference field)
        {
            Check(field.FieldType, from);
            EnterTypeInitialiser(field.DeclaringType);
        }
        else if (operand is MethodReference called)
        {
            Check(called.ReturnType, from);
            foreach (ParameterDefinition parameter in called.Parameters)
            {
                Check(parameter.ParameterType, from);
            }

            if (_types.TryGetValue(called.DeclaringType.FullName, out TypeDefinition? owner)
                && Find(owner, called) is MethodDefinition target)
            {
                Enter(target);
                EnterTypeInitialiser(owner);
            }
        }
    }

    private void EnterTypeInitialiser(TypeReference type)
    {
        if (_types.TryGetValue(type.FullName, out TypeDefinition? owner)
            && owner.Methods.FirstOrDefault(m => m.IsConstructor && m.IsStatic) is MethodDefinition initialiser)
        {
            Enter(initialiser);
        }
    }

    // Whatever a virtual call may land on: the same signature in any type that derives from or implements the owner.
    private IEnumerable<MethodDefinition> Overrides(MethodDefinition method) =>
        method.IsVirtual
            ? _types.Values.Where(t => Descends(t, method.DeclaringType)).Select(t => Find(t, method))
            .OfType<MethodDefinition>()
            : [];

    private bool Descends(TypeDefinition type, TypeDefinition from)
    {
        for (TypeDefinition? t = type; t != null; t = t.BaseType != null
            && _types.TryGetValue(t.BaseType.FullName, out TypeDefinition? up) ? up : null)
        {
            if (t.FullName == from.FullName || t.Interfaces.Any(i => i.InterfaceType.FullName == from.FullName))
            {
                return true;
            }
        }

        return false;
    }

    private static MethodDefinition? Find(TypeDefinition type, MethodReference wanted) =>
        type.Methods.FirstOrDefault(m => m.Name == wanted.Name
            && m.Parameters.Select(p => p.ParameterType.FullName)
            .SequenceEqual(wanted.Parameters.Select(p => p.ParameterType.FullName)));

    private void Check(TypeReference type, MethodDefinition where)
    {
        if (type.GetElementType().FullName is "System.Single" or "System.Double")
        {
            Refuse(type.Name, where);
        }
    }

    private void Refuse(string what, MethodDefinition where) =>
        _refusals.Add($"floating point in the motion path ({what}): {where.FullName}");
}
